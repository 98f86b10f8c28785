"""Bounds and settings that several blocks share."""

from __future__ import annotations

from seqc.language.quantities import LENGTH, SHARE, VOLTAGE
from seqc.language.schema import Count, Entry, Measure, Plain, bare, measure

SECOND = 1_000_000
MINUTE = 60 * SECOND
DAY = 24 * 60 * MINUTE
METRE = 1_000_000
MANY = 10**12

_SPOT = Measure(LENGTH, -100 * METRE, 100 * METRE)

VOLTAGE_ENTRY = bare("voltage", VOLTAGE, 100, 1_000_000)
TOLERANCE_ENTRY = measure("tolerance", SHARE, 0, 500_000, example="5 %")


def two_ways(phrase: str) -> Entry:
    """A phrase with a length to the right and one down."""
    return Entry(phrase, (_SPOT, _SPOT), phrase, f"{phrase} 20 mm 25 mm")


def depth(phrase: str) -> Entry:
    """A phrase with a length away from who looks."""
    return Entry(phrase, (_SPOT,), phrase, f"{phrase} 5 mm")


MISFEED_ENTRY = Entry(
    "misfeed", (Count(1, 10**6), Plain.WORD, Count(1, MANY)), "misfeed", "misfeed 1 in 20000"
)
