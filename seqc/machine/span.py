"""What a part takes: its nominal time, and the least and the most that it may come to.

Parts differ from piece to piece and from pulse to pulse. What is asked of a schedule (the length of
a pulse, its longest, open, refill, recover, dead time) has no tolerance.
"""

from __future__ import annotations

from dataclasses import dataclass

PPM = 1_000_000

ASSUMED_PPM = 50_000
"""The tolerance of parts of which nothing is told (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Span:
    """A time from its least to its most, both of which may come, in whole microseconds."""

    least_us: int
    nominal_us: int
    most_us: int

    def __add__(self, other: Span) -> Span:
        """One after the other: the least of both, the most of both."""
        return Span(
            self.least_us + other.least_us,
            self.nominal_us + other.nominal_us,
            self.most_us + other.most_us,
        )


@dataclass(frozen=True, slots=True)
class Tolerance:
    """How much less and how much more than its nominal value a time may be."""

    under_us: int = 0
    over_us: int = 0

    @classmethod
    def share(cls, nominal_us: int, ppm: int) -> Tolerance:
        """A share of the nominal value either way, rounded up."""
        deviation = -(-nominal_us * ppm // PPM)
        return cls(deviation, deviation)

    def of(self, nominal_us: int) -> Span:
        """The span around a nominal value; nothing takes less than no time."""
        return Span(max(0, nominal_us - self.under_us), nominal_us, nominal_us + self.over_us)


EXACT = Tolerance()
