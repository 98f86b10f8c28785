"""Coils, relays and supplies."""

from __future__ import annotations

from seqc.language.quantities import (
    AREA,
    CURRENT,
    INDUCTANCE,
    LENGTH,
    MASS,
    MOMENT,
    RESISTANCE,
    SHARE,
    THERMAL_RESISTANCE,
    TIME,
    VOLTAGE,
)
from seqc.language.schema import (
    Count,
    Entry,
    Measure,
    Schema,
    bare,
    choice,
    continuing,
    count,
    measure,
    name,
    ratio,
    repeatable,
    varying,
    word,
)
from seqc.language.tables.common import (
    MANY,
    METRE,
    MINUTE,
    SECOND,
    TOLERANCE_ENTRY,
    VOLTAGE_ENTRY,
)
from seqc.machine.lifetime import ASSUMED_SHAPE
from seqc.machine.suppression import Suppression

_ACROSS = {
    Suppression.DIODE: "A diode across the coil, which conducts when the polarity is reversed: an "
    "error in a machine that drives its coils both ways.",
    Suppression.BIDIRECTIONAL: "A bidirectional suppressor diode across the coil.",
    Suppression.VARISTOR: "A varistor across the coil.",
    Suppression.RC: "A resistor and a capacitor in series across the coil.",
    Suppression.BRIDGE_DIODES: "The four diodes of a bridge, which lead the current back into the "
    "supply.",
}

_COIL_VOLTAGE = Measure(VOLTAGE, 100, 1_000_000)
_COIL_CURRENT = Measure(CURRENT, 1, 10**8)


def _shape(beside: str) -> Entry:
    """How lives differ, told behind one of them."""
    return continuing(repeatable(ratio("B10 shape", 200_000, 20_000_000, "2"))).told(
        "That the life before it is one that a tenth doesn't reach, and the shape of the Weibull "
        "distribution of lives: above 1 parts wear out, the more alike the larger.",
        "Forecast: the first of all parts to fail, and the spares.",
        f"taken as {ASSUMED_SHAPE:g}",
        beside,
    )


ELECTRICS = {
    "coil": Schema(
        (
            VOLTAGE_ENTRY.told(
                "What the coil is made for; its supply must give the same.",
                "Current, heat and decay.",
            ),
            bare("resistance", RESISTANCE, 1, 10**9).told(
                "Its resistance at 20 degrees Celsius.",
                "Plan: the current that counts against the supply's limit. Forecast: energy, heat.",
            ),
            bare("inductance", INDUCTANCE, 0, 10**8).told(
                "Its inductance.",
                "Times: the current decays before the opposite polarity. Check: whether it pulls "
                "in within its pulse.",
                "0 mH: the current stops at once",
            ),
            measure("pulse", TIME, 100, 10 * SECOND).told(
                "How long current flows to move the part.",
                "Load time, the supply's peak, energy and heat.",
            ),
            measure("max pulse", TIME, 100, 20 * SECOND, example="80 ms").told(
                "The longest that a pulse may last.",
                "Plan: the room for the slow release of contacts. Check: the heat of one pulse.",
                "twice the pulse",
            ),
            varying("travel", TIME, 1, 10 * SECOND, example="18 ms").told(
                "How long the part moves, from the start of the pulse.",
                "Load time and change time.",
            ),
            measure("minimum off", TIME, 0, 10 * MINUTE, example="60 ms").told(
                "The least time without current before the next pulse.",
                "Load time of gates that are cycled again and again.",
                "0 ms",
            ),
            measure("duty", SHARE, 1, 1_000_000, example="10 %").told(
                "The share of time in which it may be on, in the long run.",
                "Check and forecast: whether the programme heats it too much.",
                "not judged",
            ),
            count("life", 1, MANY, "2000000").told(
                "Its rated number of pulses.",
                "Forecast: when it is used up.",
                "not counted",
            ),
            _shape("life 2000000"),
            measure("pull in", CURRENT, 1, 10**9, example="1.2 A").told(
                "The current from which the part moves for certain.",
                "Check: whether a warm coil reaches it, and in time.",
                "not judged",
            ),
            measure("winding mass", MASS, 1, 10**9).told(
                "The mass of its winding.",
                "Check: how much one pulse warms it.",
                "not judged",
            ),
            word("insulation class", "B").told(
                "The thermal class of its insulation, a letter of IEC 60085.",
                "Check and forecast: the temperature that it may reach.",
                "not judged",
            ),
            measure("thermal resistance", THERMAL_RESISTANCE, 1, 10**7).told(
                "How much warmer than the air it becomes in the long run, for each watt.",
                "Forecast: its temperature.",
                "worked out from `duty` and `insulation class`",
            ),
            Entry("leads AWG", (Count(-3, 50),), "leads", "leads AWG 22").told(
                "The gauge of the two wires to it.",
                "Check: the voltage that they cost. Wiring list.",
                "no resistance",
                beside="length 2 m",
            ),
            measure("leads", AREA, 100, 10**9).told(
                "The cross section of the two wires to it.",
                "Check: the voltage that they cost. Wiring list.",
                "no resistance",
                beside="length 2 m",
            ),
            continuing(measure("length", LENGTH, 1_000, 1_000 * METRE, example="2 m")).told(
                "How long the wires are, one way.",
                "Check: the voltage that they cost.",
                "needed with `leads`",
                beside="leads AWG 22",
            ),
            *(
                choice("suppression", kind.value).told(
                    _ACROSS.get(kind, ""),
                    "Check: whether it stands the reversal. Wiring list.",
                    "not told",
                )
                for kind in Suppression
            ),
            measure("magnet", MOMENT, 1, 10**9).told(
                "The magnetic moment of its permanent magnet.",
                "Check: how it pulls steel items that come nearer than its `magnet clearance`.",
                "not reckoned",
            ),
            measure("magnet clearance", LENGTH, 0, 100 * METRE, example="30 mm").told(
                "The least distance of lanes from its magnet, which can make steel items stick.",
                "Check: the distance of lanes from magnets.",
                "not judged",
            ),
            TOLERANCE_ENTRY.told(
                "How much its times may differ, either way, where they have no tolerance of their "
                "own.",
                "Load time and cadence, which hold for every combination.",
                "that of the whole machine",
            ),
        ),
        required=("voltage", "resistance", "pulse", "travel"),
    ),
    "relay": Schema(
        (
            varying("operate", TIME, 0, 10 * SECOND, example="10 ms").told(
                "From its output made active to its contact closed.",
                "Times: outputs lead their pulses by it.",
            ),
            varying("release", TIME, 0, 10 * SECOND, example="6 ms").told(
                "From its output made inactive to its contact opened.",
                "Times: outputs lead the end of their pulses by it.",
            ),
            continuing(choice("diode", "with diode")).told(
                "A diode stands across its own coil, and the release time is one with it: it takes "
                "about three times as long as without.",
                "Check: whether the release time may be too short.",
                "not told, with a warning",
            ),
            continuing(choice("diode", "without diode")).told(
                "No diode stands across its own coil.",
                "Check: whether the release time may be too short.",
                "not told, with a warning",
            ),
            varying("bounce", TIME, 0, SECOND, example="2 ms").told(
                "How long its contact bounces once it has closed.",
                "Times: the current decays, and a contact counts as settled, after it.",
                "0 ms",
            ),
            count("contact life", 1, MANY, "100000").told(
                "Rated number of operations in which the contact switches its rated current.",
                "Forecast: when it is used up, unless a pulse switch keeps the current off it.",
                "not counted",
            ),
            count("mechanical life", 1, MANY, "10000000").told(
                "Rated number of operations without current.",
                "Forecast: when it is used up behind a pulse switch.",
                "not counted",
            ),
            _shape("contact life 100000"),
            measure("rating", CURRENT, 1_000, 10**9, example="10 A").told(
                "What its contact may switch on a resistive load.",
                "Check: half of it is taken for a coil.",
                "not judged",
            ),
            Entry("coil", (_COIL_VOLTAGE, _COIL_CURRENT), "coil", "coil 12 V 33 mA").told(
                "What its own coil is made for and draws while its output is active.",
                "The peak of its supply, and the energy.",
                "not counted",
            ),
            name("on", "bench", "supply").told(
                "The supply of its own coil.",
                "As its current.",
                "the only one of that voltage",
                beside="coil 12 V 33 mA",
            ),
            TOLERANCE_ENTRY.told(
                "How much its times may differ, either way, where they have no tolerance of their "
                "own.",
                "Load time and cadence, which hold for every combination.",
                "that of the whole machine",
            ),
        ),
        required=("operate", "release"),
    ),
    "supply": Schema(
        (
            varying("", VOLTAGE, 100, 1_000_000, "voltage").told(
                "What it gives; the coils on it must be made for the same.",
                "Current and heat: the peak at its highest, the pull-in at its lowest.",
            ),
            measure("limit", CURRENT, 1_000, 10**9).told(
                "The most that it may give at one time.",
                "Plan: pulses that would exceed it together wait for each other.",
            ),
            measure("margin", SHARE, 0, 10**7).told(
                "How much is kept free: the current of the coils and this share of it on top stay "
                "within the limit.",
                "Plan: as a lower limit would.",
                "0 %",
            ),
            measure("fuse", CURRENT, 10_000, 10**9, example="2 A").told(
                "The rating of the time-lag fuse in its lead.",
                "Check: whether it blows before a coil that is held on burns.",
                "not judged",
            ),
            Entry("common return AWG", (Count(-3, 50),), "leads", "common return AWG 18").told(
                "The gauge of the wire by which all coils return to it.",
                "Check: the voltage that the others' current costs each coil.",
                "no resistance",
                beside="length 1 m",
            ),
            measure("common return", AREA, 100, 10**9, "leads").told(
                "The cross section of the wire by which all coils return to it.",
                "Check: the voltage that the others' current costs each coil.",
                "no resistance",
                beside="length 1 m",
            ),
            continuing(measure("length", LENGTH, 1_000, 1_000 * METRE, example="1 m")).told(
                "How long that wire is.",
                "Check: the voltage that it costs.",
                "needed with `common return`",
                beside="common return AWG 18",
            ),
        ),
        required=("voltage", "limit"),
    ),
}
