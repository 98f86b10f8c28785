"""Many positions at once, as columns of 64-bit words, for searches in numpy.

An actuator has two bits: one is set where it is known at rest, the other where it is known thrown.
So what is missing for a way is the way without what holds, whatever isn't known.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from seqc.solver.positions import Positions

Words: TypeAlias = NDArray[np.uint64]
"""A row for each word of a column; a column for each of many positions."""

Counts: TypeAlias = NDArray[np.int16]
WORD = 64


@dataclass(frozen=True, slots=True)
class Coding:
    """How the positions of some actuators are written as words."""

    actuators: Sequence[int]

    def column(self, positions: Positions) -> list[int]:
        """The words of some positions."""
        code = 0
        for place, actuator in enumerate(self.actuators):
            if positions.known >> actuator & 1:
                thrown = positions.thrown >> actuator & 1
                code |= 1 << place + thrown * len(self.actuators)
        count = max(1, -(-2 * len(self.actuators) // WORD))
        return [code >> WORD * word & (1 << WORD) - 1 for word in range(count)]

    def columns(self, several: Iterable[Positions]) -> Words:
        """A column for each."""
        return np.array([self.column(each) for each in several], dtype=np.uint64).T.copy()


def opposite(positions: Positions) -> Positions:
    """The same actuators, each in its other position."""
    return Positions(positions.known, positions.known & ~positions.thrown)


def count(words: Words) -> Counts:
    """The bits set in each column."""
    found: Counts = np.bitwise_count(words).sum(axis=0, dtype=np.int16)
    return found
