"""Quantities mean the same in every unit and prefix in which they can be written."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from malformed import BOARD

from seqc.language import read_text
from seqc.language.quantities import (
    ANGLE,
    CURRENT,
    DIMENSIONS,
    INDUCTANCE,
    LENGTH,
    RESISTANCE,
    SHARE,
    TIME,
    VOLTAGE,
    Dimension,
    in_words,
    unit_of,
)
from seqc.machine.electrics import Coil
from seqc.machine.findings import Findings

# SI brochure, 9th edition, table 7: the prefixes that a machine could sensibly be written with.
PREFIXES = {"G": 9, "M": 6, "k": 3, "": 0, "c": -2, "m": -3, "u": -6, "µ": -6, "n": -9}


def coil_of(**settings: str) -> Coil:
    """The board's coil with some of its quantities written otherwise."""
    text = BOARD
    for old, new in settings.items():
        text = text.replace({"pulse": "pulse 40 ms", "ohm": "8 ohm"}[old], new)
    findings = Findings()
    declared = read_text(text, "board.lanes", findings)
    assert declared is not None, [str(finding) for finding in findings]
    return declared.machine.selectors[0].coil


@pytest.mark.parametrize(
    "written", ["40 ms", "0.04 s", "40000 us", "40000 µs", "4e-2 s", "40ms", "0.00004 ks", "+40 ms"]
)
def test_one_time_in_many_words(written: str) -> None:
    assert coil_of(pulse=f"pulse {written}").pulse_us == 40_000


@pytest.mark.parametrize("written", ["8 ohm", "8000 mohm", "0.008 kohm", "8 Ω", "8 Ohm"])
def test_one_resistance_in_many_words(written: str) -> None:
    assert coil_of(ohm=written).resistance_mohm == 8_000


@given(st.integers(100, 10_000_000), st.sampled_from(sorted(PREFIXES)))
def test_any_time_in_any_prefix(micros: int, prefix: str) -> None:
    written = f"{micros}e{-6 - PREFIXES[prefix]} {prefix}s"
    assert coil_of(pulse=f"pulse {written} max pulse 20 s").pulse_us == micros


# Sizes in the small units of the model: us, mV, uA, mohm, uH, um, millidegrees, ppm.
SIZES = [
    (TIME, "s", 1_000_000),
    (TIME, "min", 60_000_000),
    (TIME, "h", 3_600_000_000),
    (VOLTAGE, "V", 1_000),
    (CURRENT, "A", 1_000_000),
    (RESISTANCE, "ohm", 1_000),
    (INDUCTANCE, "H", 1_000_000),
    (LENGTH, "m", 1_000_000),
    (ANGLE, "deg", 1_000),
    (SHARE, "%", 10_000),
]


@pytest.mark.parametrize(("dimension", "unit", "size"), SIZES)
@pytest.mark.parametrize("prefix", sorted(PREFIXES))
def test_units_take_prefixes(dimension: Dimension, unit: str, size: int, prefix: str) -> None:
    found = unit_of(prefix + unit)
    assert found is not None
    assert found.dimension is dimension
    assert found.size == pytest.approx(size * 10.0 ** PREFIXES[prefix])


@pytest.mark.parametrize("word", ["msec", "in", "foo", "V2", "", "inf", "e5", "1", "_s"])
def test_words_that_are_no_units(word: str) -> None:
    assert unit_of(word) is None


@given(st.sampled_from(DIMENSIONS), st.integers(1, 10**9))
def test_values_in_words_can_be_read_again(dimension: Dimension, value: int) -> None:
    number, word = in_words(value, dimension).split()
    unit = unit_of(word)
    assert unit is not None
    assert unit.dimension is dimension
    assert float(number) * unit.size == pytest.approx(value, rel=1e-3)
