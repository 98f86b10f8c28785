"""How the times of a machine's pieces come out in a run: nominal, drawn, or between their bounds.

Every relay, coil, part and lane is a piece with times of its own. A run asks `Pieces` for the times
of each; which kind of pieces it is given makes it the run of the nominal machine, of one machine
that might be built, or of all of them at once.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from random import Random

from seqc.machine.model import Machine
from seqc.machine.span import PPM, Span

ROUNDING_US = 3
"""By how much a distance on a stretched clock may be off, since each of its ends is rounded, and
each end of a table between them."""


@dataclass(frozen=True, slots=True, eq=False)
class Time:
    """What a piece takes: `draw` gives it for one use; in truth it may be so much less or more."""

    draw: Callable[[], int]
    early_us: int = 0
    late_us: int = 0


class Pieces:
    """The nominal machine: each piece takes what is declared, and the clock is right.

    `steady` tells that a piece takes the same each time, so that equal states lead to equal ends.
    The clock makes each time of a table longer by `clock_ppm`.
    """

    steady = True

    def __init__(self, clock_ppm: int = 0) -> None:
        self.clock_ppm = clock_ppm

    @property
    def rounding_us(self) -> int:
        """How far apart from the truth a distance between two steps may be."""
        return ROUNDING_US if self.clock_ppm else 0

    def played_us(self, at_us: int) -> int:
        """When a controller with this clock does what a table asks for at a time."""
        return at_us * (PPM + self.clock_ppm) // PPM

    def time(self, span: Span) -> Time:
        """The time of one more piece that is declared to take as long as that."""
        return Time(lambda: span.nominal_us)


class Bounds(Pieces):
    """All machines at once: nominal times, with what each may be less or more."""

    def time(self, span: Span) -> Time:
        """The nominal time and its bounds."""
        early, late = span.nominal_us - span.least_us, span.most_us - span.nominal_us
        return Time(lambda: span.nominal_us, early, late)


class Drawn(Pieces):
    """One machine that might be built: each piece takes a time of its own, always the same."""

    def __init__(self, machine: Machine, seed: str) -> None:
        self.random = Random(seed)
        off = machine.controller.clock_ppm
        super().__init__(self.random.randint(-off, off))

    def time(self, span: Span) -> Time:
        """A time between the bounds, each as likely."""
        drawn = self.random.randint(span.least_us, span.most_us)
        return Time(lambda: drawn)


class DrawnAnew(Drawn):
    """A machine whose pieces take another time at each use."""

    steady = False

    def time(self, span: Span) -> Time:
        """A time between the bounds for each use."""
        return Time(lambda: self.random.randint(span.least_us, span.most_us))


def bounds(machine: Machine) -> tuple[Bounds, ...]:
    """The bounds of a machine with its clock as slow and as quick as it may be.

    Every rule compares sums of times, so a clock between the two breaks none that both keep.
    """
    off = machine.controller.clock_ppm
    return tuple(Bounds(ppm) for ppm in dict.fromkeys((off, -off)))
