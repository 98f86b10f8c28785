"""The field of a magnet as that of a dipole, and its pull on a ball of steel.

A dipole of moment m has on its axis, where it is strongest, B = mu0 m / (2 pi r^3) (any text on
electromagnetism: B = mu0 m sqrt(1 + 3 cos^2 f) / (4 pi r^3)). A ball of radius R and of much
permeability becomes a dipole of moment 4 pi R^3 B / mu0 in it, and is pulled by that times the
gradient, 3 B / r on the axis: F = 12 pi R^3 B^2 / (mu0 r). Steel that has been near stays magnetic,
which isn't reckoned.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from seqc.machine.motion import GRAVITY

MU0 = 4e-7 * math.pi
"""The magnetic constant in Vs/Am, to nine digits its defined value until 2019."""

STEEL_KG_PER_M3 = 7850.0
"""Handbook value."""


def field_t(moment_am2: float, distance_m: float) -> float:
    """The strongest field at a distance from a dipole, in teslas."""
    return MU0 * moment_am2 / (2 * math.pi * distance_m**3)


@dataclass(frozen=True, slots=True)
class SteelBall:
    """A ball of steel, and the least slope in thousandths of a degree on which it must roll."""

    item: str
    diameter_um: int
    slope_mdeg: int | None = None

    @property
    def radius_m(self) -> float:
        """Its radius."""
        return self.diameter_um / 2e6

    @property
    def drive_n(self) -> float:
        """What moves it: its weight along the slope, or all of it where it falls."""
        weight = 4 / 3 * math.pi * self.radius_m**3 * STEEL_KG_PER_M3 * GRAVITY
        slope = 90.0 if self.slope_mdeg is None else self.slope_mdeg / 1000
        return weight * math.sin(math.radians(slope))

    def pull_n(self, moment_am2: float, distance_m: float) -> float:
        """How a magnet pulls it at a distance between their middles."""
        field = field_t(moment_am2, distance_m)
        return 12 * math.pi * self.radius_m**3 * field**2 / (MU0 * distance_m)
