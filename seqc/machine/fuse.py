"""Which fuse a supply of pulsed coils wants."""

from __future__ import annotations

import math
from dataclasses import dataclass

PULSE_SHARE = 0.22
"""A pulse's I2t over the melting I2t for `PULSES` of them, `COOL_S` apart (fuse makers' guides)."""

PULSES = 100_000
COOL_S = 10
"""Pulses that follow each other sooner add up to one, since the fuse doesn't cool between them."""

LOAD_SHARE = 0.75
"""Steady current over rated current (common practice, no source)."""

SERIES = (1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0)
"""Preferred ratings in one decade: R10 of ISO 3, as in IEC 60127 (from memory)."""

SMALLEST_A = 0.0315
"""The smallest rating of time-lag fuses in IEC 60127-2, there called 32 mA (from memory)."""


@dataclass(frozen=True, slots=True)
class FuseAdvice:
    """The least rating for the steady current, and the melting I2t that the pulses need besides.

    The smallest fuse that has both protects best. Makers state the melting I2t of each fuse;
    time-lag types of one rating have the larger ones.
    """

    rating_a: float
    melting_a2s: float

    @property
    def words(self) -> str:
        """What to look for in a data sheet; two digits of what must be enough, rounded up."""
        size = 10.0 ** (math.floor(math.log10(self.melting_a2s)) - 1) if self.melting_a2s else 1.0
        melting = round(math.ceil(self.melting_a2s / size - 1e-9) * size, 6)
        return (
            f"time-lag, {self.rating_a:g} A or the next rating up, melting I2t at least "
            f"{melting:,g} A2s"
        )

    def __str__(self) -> str:
        return f"fuse: {self.words}, for {PULSES:,} bursts with {COOL_S} s to cool"


def preferred_rating_a(least_a: float) -> float:
    """The smallest preferred rating that is no less than a current."""
    least_a = max(least_a, SMALLEST_A)
    decade = 10.0 ** math.floor(math.log10(least_a))
    steps = (decade * step for step in (*SERIES, 10.0))
    return next(rating for rating in steps if rating >= least_a * (1 - 1e-9))


def fuse_advice(effective_a: float, pulse_a2s: float) -> FuseAdvice:
    """The fuse for a steady (effective) current and for the largest pulse, seen 100,000 times."""
    return FuseAdvice(preferred_rating_a(effective_a / LOAD_SHARE), pulse_a2s / PULSE_SHARE)
