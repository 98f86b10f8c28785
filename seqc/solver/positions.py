"""The positions of all actuators at one time, some of them perhaps not known."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from seqc.machine.parts import Position


@dataclass(frozen=True, slots=True)
class Positions:
    """Two bit sets by actuator index: which positions are known, and which of those are thrown.

    A bit of `thrown` is set only where the same bit of `known` is.
    """

    known: int = 0
    thrown: int = 0

    def of(self, index: int) -> Position | None:
        """The position of one actuator, or None when it is not known."""
        if not self.known >> index & 1:
            return None
        return Position.THROWN if self.thrown >> index & 1 else Position.REST

    def meet(self, other: Positions) -> bool:
        """Whether no actuator is known at rest in one and thrown in the other."""
        return not (self.known & other.known & (self.thrown ^ other.thrown))

    def opposed(self, other: Positions) -> int:
        """The bit set of actuators known at rest in one and thrown in the other."""
        return self.known & other.known & (self.thrown ^ other.thrown)

    def then(self, other: Positions) -> Positions:
        """These positions after every one that is known in the other has been set."""
        return Positions(self.known | other.known, self.thrown & ~other.known | other.thrown)

    def missing(self, other: Positions) -> int:
        """The bit set of actuators to pulse so that these positions hold what the other knows."""
        return other.known & ~(self.known & ~(self.thrown ^ other.thrown))

    def within(self, actuators: int) -> Positions:
        """These positions as far as a bit set of actuators goes."""
        return Positions(self.known & actuators, self.thrown & actuators)

    def __str__(self) -> str:
        marks = {None: ".", Position.REST: "r", Position.THROWN: "t"}
        return "".join(marks[self.of(index)] for index in range(self.known.bit_length()))


def home(count: int) -> Positions:
    """Every one of `count` actuators at rest, as the home sequence leaves them."""
    return Positions((1 << count) - 1, 0)


def bits(mask: int) -> Iterator[int]:
    """The numbers of the bits that are set, lowest first."""
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low


UNKNOWN = Positions()
