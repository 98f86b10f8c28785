"""Quantities: numbers with units, in any SI prefix, as integers in the small units of the model."""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass

from quantiphy import QuantiPhyError, Quantity


@dataclass(frozen=True)
class Dimension:
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
FREQUENCY = Dimension("a frequency", "16 MHz", {"Hz": 10**3})
MASS = Dimension("a mass", "15 g", {"g": 10**3})
AREA = Dimension("an area", "0.5 mm2", {"mm2": 10**6})
RISE = Dimension("a rise of temperature", "12 K", {"K": 10**3})

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
    RISE,
    FREQUENCY,
)


class _Written(Quantity):
    """A quantity as it is written in a machine file; the library's own settings stay untouched."""


_Written.set_prefs(
    known_units="min h m deg",
    input_sf="QRYZEPTGMKkcmuµμnpfazyrq",
)


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit with its prefix: what it measures, and its size in the model's small unit."""

    dimension: Dimension
    size: float


@functools.lru_cache(maxsize=256)
def unit_of(text: str) -> Unit | None:
    """The unit that a word means, or None; a unit as it stands comes before any prefix."""
    for dimension in DIMENSIONS:
        if text in dimension.units:
            return Unit(dimension, dimension.units[text])
    try:
        one = _Written(f"1 {text}")
    except QuantiPhyError:
        return None
    for dimension in DIMENSIONS:
        if one.units in dimension.units:
            return Unit(dimension, one.real * dimension.units[one.units])
    return None


def in_words(value: int, dimension: Dimension) -> str:
    """A value in the model's small unit as a person writes it: 60000 as `60 ms`."""
    unit, size = next(iter(dimension.units.items()))
    if dimension is TIME and value >= size * 120:
        unit, size = ("min", size * 60) if value < size * 7_200 else ("h", size * 3_600)
        return f"{value / size:.4g} {unit}"
    if dimension in (ANGLE, SHARE, AREA, RISE):
        return f"{value / size:g} {unit}"
    return str(Quantity(value / size, unit).render(form="si", prec=4))
