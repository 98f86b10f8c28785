"""Quantities: numbers with units, in any SI prefix, as integers in the small units of the model."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from typing import NamedTuple


class Dimension(NamedTuple):
    """What a quantity measures; `units` has the size of each unit in the model's small unit."""

    name: str
    example: str
    units: Mapping[str, int]

    @property
    def noun(self) -> str:
        """The name without its article."""
        return self.name.split(" ", 1)[1]

    def __str__(self) -> str:
        return self.name


TIME = Dimension("a time", "40 ms", {"s": 10**6, "min": 60 * 10**6, "h": 3_600 * 10**6})
VOLTAGE = Dimension("a voltage", "12 V", {"V": 10**3})
CURRENT = Dimension("a current", "4 A", {"A": 10**6})
RESISTANCE = Dimension("a resistance", "8.2 ohm", {"ohm": 10**3, "Ohm": 10**3, "Ω": 10**3})
INDUCTANCE = Dimension("an inductance", "9 mH", {"H": 10**6})
LENGTH = Dimension("a length", "120 mm", {"m": 10**6})
ANGLE = Dimension("an angle", "9 deg", {"deg": 10**3, "°": 10**3})
SHARE = Dimension("a share", "20 %", {"%": 10**4, "ppm": 1})
TEMPERATURE = Dimension("a temperature", "40 C", {"C": 10**3, "°C": 10**3})
MOMENT = Dimension("a magnetic moment", "0.2 Am2", {"Am2": 10**6})
SPEED = Dimension("a speed", "0.1 m/s", {"m/s": 10**6})
FREQUENCY = Dimension("a frequency", "16 MHz", {"Hz": 10**3})
MASS = Dimension("a mass", "15 g", {"g": 10**3})
AREA = Dimension("an area", "0.5 mm2", {"mm2": 10**6})
THERMAL_RESISTANCE = Dimension("a thermal resistance", "12 K/W", {"K/W": 10**3})

DIMENSIONS = (
    TIME,
    VOLTAGE,
    CURRENT,
    RESISTANCE,
    INDUCTANCE,
    LENGTH,
    ANGLE,
    SHARE,
    MASS,
    AREA,
    THERMAL_RESISTANCE,
    FREQUENCY,
    SPEED,
    TEMPERATURE,
    MOMENT,
)


# The SI Brochure, 9th edition, table 7; `u` and both signs for micro, and `K` as many write it.
PREFIXES = {
    "Q": 30,
    "R": 27,
    "Y": 24,
    "Z": 21,
    "E": 18,
    "P": 15,
    "T": 12,
    "G": 9,
    "M": 6,
    "k": 3,
    "K": 3,
    "c": -2,
    "m": -3,
    "u": -6,
    "\N{MICRO SIGN}": -6,
    "\N{GREEK SMALL LETTER MU}": -6,
    "n": -9,
    "p": -12,
    "f": -15,
    "a": -18,
    "z": -21,
    "y": -24,
    "r": -27,
    "q": -30,
}
WRITTEN_PREFIXES = {9: "G", 6: "M", 3: "k", 0: "", -3: "m", -6: "u"}


class Unit(NamedTuple):
    """A unit with its prefix: what it measures, and its size in the model's small unit."""

    dimension: Dimension
    size: float


@functools.lru_cache(maxsize=256)
def unit_of(text: str) -> Unit | None:
    """The unit that a word means, or None; a unit as it stands comes before any prefix."""
    for dimension in DIMENSIONS:
        if text in dimension.units:
            return Unit(dimension, dimension.units[text])
    prefix, unit = text[:1], text[1:]
    for dimension in DIMENSIONS:
        if prefix in PREFIXES and unit in dimension.units:
            return Unit(dimension, float(f"1e{PREFIXES[prefix]}") * dimension.units[unit])
    return None


def in_words(value: int, dimension: Dimension) -> str:
    """A value in the model's small unit as a person writes it: 60000 as `60 ms`."""
    unit, size = next(iter(dimension.units.items()))
    if dimension is TIME and value >= size * 120:
        unit, size = ("min", size * 60) if value < size * 7_200 else ("h", size * 3_600)
        return f"{value / size:.4g} {unit}"
    if dimension in (ANGLE, SHARE, AREA, THERMAL_RESISTANCE, TEMPERATURE):
        return f"{value / size:g} {unit}"
    return _with_prefix(value / size, unit)


def _with_prefix(value: float, unit: str) -> str:
    """A value with the prefix that leaves one to three digits before its point."""
    digits, exponent = f"{value:.4e}".split("e")
    power = min(max(int(exponent) // 3 * 3, min(WRITTEN_PREFIXES)), max(WRITTEN_PREFIXES))
    return f"{float(f'{digits}e{int(exponent) - power}'):g} {WRITTEN_PREFIXES[power]}{unit}"
