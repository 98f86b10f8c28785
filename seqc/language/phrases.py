"""The settings of every block: phrases, dimensions and bounds.

The bounds only keep out what can't be meant; whether a value is wise is for later stages to say.
Times are in us, lengths in um, angles in millidegrees, shares in ppm, and so on as in the model.
"""

from __future__ import annotations

from seqc.language.limits import MAX_CELLS, MAX_COPIES, MAX_OUTPUTS
from seqc.language.quantities import (
    ANGLE,
    AREA,
    CURRENT,
    FREQUENCY,
    INDUCTANCE,
    LENGTH,
    MASS,
    RESISTANCE,
    RISE,
    SHARE,
    SPEED,
    TIME,
    VOLTAGE,
)
from seqc.language.schema import (
    Count,
    Entry,
    Measure,
    Plain,
    Schema,
    art,
    bare,
    choices,
    count,
    measure,
    name,
    ratio,
    varying,
    word,
)
from seqc.machine.clock import Hand
from seqc.machine.suppression import Suppression

SECOND = 1_000_000
MINUTE = 60 * SECOND
DAY = 24 * 60 * MINUTE
METRE = 1_000_000
MANY = 10**12

_LINKAGE = (
    *choices("linkage", ("per row", "per column", "per cell", "whole grid")),
    art("map", "linkage"),
)
_SPOT = Measure(LENGTH, -100 * METRE, 100 * METRE)


def _two_ways(phrase: str) -> Entry:
    """A phrase with a length to the right and one down."""
    return Entry(phrase, (_SPOT, _SPOT), phrase, f"{phrase} 20 mm 25 mm")


def _depth(phrase: str) -> Entry:
    """A phrase with a length away from who looks."""
    return Entry(phrase, (_SPOT,), phrase, f"{phrase} 5 mm")


_TOLERANCE = measure("tolerance", SHARE, 0, 500_000, example="5 %")

_PART = (
    *_LINKAGE,
    name("coil", "small"),
    varying("settle", TIME, 0, MINUTE),
    _two_ways("magnets at"),
    _two_ways("magnets apart"),
    _depth("magnets depth"),
)
_VOLTAGE = bare("voltage", VOLTAGE, 100, 1_000_000)

SCHEMAS = {
    "item": Schema(
        (
            word("tone", "dark"),
            count("stock", 0, MANY, "260"),
            measure("diameter", LENGTH, 100, METRE, example="8 mm"),
            measure("return", TIME, 0, 366 * DAY, example="25 s"),
            measure("mass", MASS, 1, 10**9),
            ratio("bounce", 0, 990_000, "0.6"),
        ),
        required=("tone",),
    ),
    "grid": Schema(
        (
            count("columns", 1, MAX_CELLS, "4"),
            count("rows", 1, MAX_CELLS, "6"),
            art("shape", "shape"),
            count("copies", 2, MAX_COPIES, "6"),
            _two_ways("lanes at"),
            _two_ways("lanes apart"),
            _depth("lanes depth"),
            measure("lanes from", LENGTH, 0, 100 * METRE),
        ),
    ),
    "selector": Schema(_PART, required=("linkage", "coil")),
    "gate": Schema(
        (
            *_PART,
            measure("open", TIME, 1, MINUTE),
            measure("refill", TIME, 0, MINUTE),
        ),
        required=("linkage", "coil", "open"),
    ),
    "path": Schema(
        (
            measure("roll", LENGTH, 100, 100 * METRE, "course", "120 mm at 9 deg"),
            measure("fall", LENGTH, 100, 100 * METRE, "course"),
            varying("falls in", TIME, 1, MINUTE, "course", "330 ms"),
            measure("at", ANGLE, 1, 90_000),
            measure("on rails", LENGTH, 100, METRE, "surface", "5 mm"),
            measure("in groove", ANGLE, 1, 180_000, "surface", "90 deg"),
            varying("settle", TIME, 0, MINUTE),
            ratio("resistance", 0, 10**6, "0.01"),
            measure("start speed", SPEED, 0, 100 * METRE),
            measure("first falls", LENGTH, 0, METRE, example="8 mm"),
            _TOLERANCE,
        ),
        required=("course",),
    ),
    "coil": Schema(
        (
            _VOLTAGE,
            bare("resistance", RESISTANCE, 1, 10**9),
            bare("inductance", INDUCTANCE, 0, 10**8),
            measure("pulse", TIME, 100, 10 * SECOND),
            measure("longest", TIME, 100, 20 * SECOND),
            varying("travel", TIME, 1, 10 * SECOND),
            measure("recover", TIME, 0, 10 * MINUTE),
            measure("duty", SHARE, 1, 1_000_000, example="10 %"),
            count("life", 1, MANY, "2000000"),
            measure("pull in", CURRENT, 1, 10**9, example="1.2 A"),
            measure("copper", MASS, 1, 10**9),
            word("class", "B"),
            measure("rise per watt", RISE, 1, 10**7),
            Entry("leads AWG", (Count(-3, 50),), "leads", "leads AWG 22"),
            measure("leads", AREA, 100, 10**9),
            measure("length", LENGTH, 1_000, 1_000 * METRE, example="2 m"),
            *choices("suppression", tuple(kind.value for kind in Suppression)),
            measure("standoff", LENGTH, 0, 100 * METRE, example="30 mm"),
            _TOLERANCE,
        ),
        required=("voltage", "resistance", "pulse", "travel"),
    ),
    "relay": Schema(
        (
            varying("operate", TIME, 0, 10 * SECOND, example="10 ms"),
            varying("release", TIME, 0, 10 * SECOND, example="6 ms"),
            varying("bounce", TIME, 0, SECOND, example="2 ms"),
            count("contact life", 1, MANY, "100000"),
            count("mechanical life", 1, MANY, "10000000"),
            measure("rating", CURRENT, 1_000, 10**9, example="10 A"),
            _TOLERANCE,
        ),
        required=("operate", "release"),
    ),
    "outputs": Schema(
        (
            count("bits", 1, MAX_OUTPUTS, "24"),
            *choices("wiring", ("shift register", "direct pins")),
            *choices("level", ("active low", "active high")),
        ),
        required=("bits",),
    ),
    "supply": Schema(
        (_VOLTAGE, measure("limit", CURRENT, 1_000, 10**9), measure("margin", SHARE, 0, 10**7)),
        required=("voltage", "limit"),
    ),
    "drive": Schema(
        (
            *choices("kind", ("changeover pair", "bridge", "shared reverser")),
            name("relay", "card"),
            measure("dead", TIME, 0, SECOND, example="1 ms"),
            *choices("pulse switch", ("pulse switch",)),
            varying("turn on", TIME, 0, SECOND, example="0.5 ms"),
            varying("turn off", TIME, 0, SECOND, example="1 ms"),
            name("from", "bus"),
            Entry("at", (Count(0, MAX_OUTPUTS - 1, several=True),), "at", "at 12"),
            name("on", "bench"),
        ),
        required=("kind", "from"),
    ),
    "font": Schema(
        (
            Entry("mark", (Plain.TEXT, Plain.NAME), "mark", 'mark "#" slate', repeatable=True),
            Entry("glyph", (Plain.TEXT, Plain.ART), "glyph", 'glyph "0" { |#| }', repeatable=True),
            name("ink", "slate"),
            name("paper", "chalk"),
            *choices("align", ("align left", "align centre", "align right")),
            *choices("seat", ("seat top", "seat middle", "seat baseline")),
            count("baseline row", 1, MAX_CELLS, "5"),
        ),
    ),
    "programme": Schema(
        (
            Entry("show", (Plain.TEXT,), "show", 'show "0123"', repeatable=True),
            Entry("on", (Plain.NAME,), "on", "on numeral", repeatable=True),
            Entry("in", (Plain.NAME,), "in", "in harbour", repeatable=True),
            measure("every", TIME, 1_000, DAY, example="1 s"),
            *choices("repeat", ("repeat",)),
        ),
        required=("show", "every"),
    ),
    "clock": Schema(
        (
            *(entry for hand in Hand for entry in choices(hand.word, (hand.word,))),
            Entry("on", (Plain.NAME,), "on", "on numeral", repeatable=True),
        ),
        required=("on",),
    ),
    "tolerance": Schema((_TOLERANCE,), required=("tolerance",)),
    "controller": Schema(
        (varying("clock", FREQUENCY, 10**6, 10**13, example="16 MHz +- 0.5 %"),),
        required=("clock",),
    ),
}
