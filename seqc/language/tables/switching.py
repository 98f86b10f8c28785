"""Outputs of the controller, and the drives between them and the coils."""

from __future__ import annotations

from seqc.language.limits import MAX_OUTPUTS
from seqc.language.quantities import TIME
from seqc.language.schema import (
    Count,
    Entry,
    Schema,
    choice,
    continuing,
    count,
    measure,
    name,
    repeatable,
    varying,
)
from seqc.language.tables.common import SECOND

_KIND = "Times: how early outputs lead. Electrics: how many outputs. Forecast: what wears."

SWITCHING = {
    "outputs": Schema(
        (
            count("bits", 1, MAX_OUTPUTS, "24").told(
                "How many outputs it has.",
                "Check: whether they are enough. Firmware: the length of the chain.",
            ),
            count("counted from", 0, 1, "1").told(
                "The number of its first output, as it is printed on the board.",
                "`at` of a drive, the wiring list: its outputs and relays go by the board's name "
                "and these numbers.",
                "from 0",
            ),
            choice("wiring", "shift register").told(
                "A chain of shift registers of eight bits each.",
                "Firmware and wiring list.",
                "direct pins",
            ),
            choice("wiring", "direct pins").told(
                "Pins of the controller itself.",
                "Firmware and wiring list.",
                "direct pins",
            ),
            choice("level", "active low").told(
                "A low output switches its load on, as on most relay boards.",
                "Firmware and step tables.",
                "active high",
            ),
            choice("level", "active high").told(
                "A high output switches its load on.",
                "Firmware and step tables.",
                "active high",
            ),
        ),
        required=("bits",),
    ),
    "drive": Schema(
        (
            choice("kind", "changeover pair").told(
                "Two changeover relays for each actuator, its coil between their common contacts: "
                "either alone gives a polarity, none or both give no current.",
                _KIND,
                beside="relay card",
            ),
            choice("kind", "bridge").told(
                "A solid-state bridge with two logic inputs for each actuator.",
                _KIND,
                beside="dead time 1 ms",
            ),
            choice("kind", "shared reverser").told(
                "One double-pole relay reverses the rail for all of them, one relay for each coil "
                "connects it: pulses that overlap have one polarity.",
                _KIND,
                beside="relay card",
            ),
            choice("kind", "matrix").told(
                "A coil at each crossing of rows and columns, solid state: a high and a low switch "
                "for each row, a half bridge for each column, two diodes at each crossing.",
                _KIND,
                beside="dead time 1 ms",
            ),
            count("columns", 1, MAX_OUTPUTS, "8").told(
                "How many columns a matrix has; its actuators fill it row by row.",
                "Electrics: which outputs each coil has. Times: coils of one row can be pulsed at "
                "the same time, those of others can't.",
                "as many as make it square",
                beside="matrix dead time 1 ms",
            ),
            name("relay", "card", "relay").told(
                "The type of its relays.",
                "Times and life: those of the relay.",
                "needed with relays",
                beside="changeover pair",
            ),
            measure("dead time", TIME, 0, SECOND, example="1 ms").told(
                "The least time of a bridge or a matrix between opposite polarities.",
                "Times: as a longer pause of the coil.",
                "needed with a bridge or a matrix",
                beside="bridge",
            ),
            choice("pulse switch", "pulse switch").told(
                "A solid-state switch in the rail of the drive that closes after the contacts "
                "have settled and opens before they move, so that they switch no current.",
                "Times: a little longer. Forecast: contacts live by their mechanical life. One "
                "output more.",
                "none",
            ),
            varying("turn on", TIME, 0, SECOND, example="0.5 ms").told(
                "From the output of the pulse switch made active to the switch closed.",
                "Times: its output leads by it.",
                "0 ms",
                beside="pulse switch",
            ),
            varying("turn off", TIME, 0, SECOND, example="1 ms").told(
                "From the output of the pulse switch made inactive to the switch opened.",
                "Times: its output leads by it.",
                "0 ms",
                beside="pulse switch",
            ),
            repeatable(name("from", "bus", "outputs")).told(
                "The outputs that switch it. They are given out in the order of declaration: a "
                "forward and a reverse one for each actuator (one alone under a shared reverser), "
                "then that of the reverser, then that of the pulse switch. Those of a matrix are "
                "the high and the low switch of each row, then of each column. Several boards are "
                "named one after the other, each with its outputs listed by `at`.",
                "Wiring list, step tables and firmware.",
            ),
            repeatable(
                continuing(Entry("at", (Count(0, MAX_OUTPUTS, several=True),), "at", "at 12"))
            ).told(
                "The first of its outputs, or each of them in order, with commas between.",
                "Wiring list, step tables and firmware.",
                "on from the last output that was given out",
                beside="from bus",
            ),
            name("on", "bench", "supply").told(
                "The supply that feeds it.",
                "Plan: whose limit its pulses share.",
                "the only supply",
            ),
        ),
        required=("kind", "from"),
    ),
}
