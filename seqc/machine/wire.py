"""Copper wire: what a gauge measures, and the resistance of the leads to a coil."""

from __future__ import annotations

import math
from typing import NamedTuple

RESISTIVITY_OHM_MM2_PER_M = 0.017241
"""Annealed copper at 20 C (IEC 60028)."""


def gauge_diameter_mm(gauge: int) -> float:
    """The diameter of a solid wire of an American gauge; 0000 is -3 (ASTM B258)."""
    return 0.127 * math.pow(92, (36 - gauge) / 39)


def gauge_area_mm2(gauge: int) -> float:
    """The cross-section of a solid wire of an American gauge."""
    return math.pi / 4 * gauge_diameter_mm(gauge) ** 2


def ohms_per_km(area_mm2: float) -> float:
    """The resistance of a kilometre of copper wire at 20 C."""
    return RESISTIVITY_OHM_MM2_PER_M * 1000 / area_mm2


class Lead(NamedTuple):
    """The two wires from the drive to a coil: the copper area of each, and the length one way."""

    area_um2: int
    length_mm: int

    @classmethod
    def of_gauge(cls, gauge: int, length_mm: int) -> Lead:
        """Leads of solid wire of an American gauge."""
        return cls(round(gauge_area_mm2(gauge) * 1_000_000), length_mm)

    @property
    def ohms(self) -> float:
        """The resistance there and back, at 20 C."""
        return RESISTIVITY_OHM_MM2_PER_M * 2 * self.length_mm * 1000 / self.area_um2
