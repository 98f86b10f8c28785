"""Distances on a clock that may go faster or slower than it should."""

from __future__ import annotations

from dataclasses import dataclass, replace

from seqc.machine.electrics import ceil_div
from seqc.machine.span import PPM

ROUNDING_US = 3
"""A player rounds both ends of a distance to its own clock, and each end of a table between."""


@dataclass(frozen=True, slots=True)
class ClockRate:
    """A clock that may be off by so much, and by how much that moves pulses against each other.

    Starts of pulses are counted by the current, which follows its output after a time of its own,
    whatever the clock does: so drives that start more or less quickly are `skew_us` apart at most.
    Distances are multiples of `grid_us`.
    """

    off_ppm: int = 0
    skew_us: int = 0
    grid_us: int = 1

    @property
    def fine(self) -> ClockRate:
        """The same clock, distances of any length."""
        return replace(self, grid_us=1)

    def lasting(self, real_us: int) -> int:
        """The distance in a table that lasts so long or longer, however fast or slow the clock.

        A time below 0 is one by which the later of two may come first: a slow clock makes less of
        it, a fast one more.
        """
        if not self.off_ppm:
            return ceil_div(real_us, self.grid_us) * self.grid_us
        asked = real_us + self.skew_us + ROUNDING_US
        rate = PPM - self.off_ppm if asked > 0 else PPM + self.off_ppm
        return ceil_div(asked * PPM, rate * self.grid_us) * self.grid_us

    def longest_us(self, table_us: int) -> int:
        """How long a distance in a table may last."""
        rounding_us = ROUNDING_US if self.off_ppm else 0
        return ceil_div(table_us * (PPM + self.off_ppm), PPM) + rounding_us


EXACT_CLOCK = ClockRate()
