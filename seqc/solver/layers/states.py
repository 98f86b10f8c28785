"""The states of one pass of a load, side by side in arrays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from seqc.solver.layers.words import Counts, Words


class States(NamedTuple):
    """States of one pass: what is left, where all stands, pulses, and the state before each."""

    left: NDArray[np.uint64]
    at: Words
    pulses: Counts
    before: NDArray[np.int32]

    def of(self, chosen: NDArray[np.intp] | NDArray[np.bool_]) -> States:
        """Some of the states."""
        return States(
            self.left[chosen], self.at[:, chosen], self.pulses[chosen], self.before[chosen]
        )

    @classmethod
    def of_all(cls, several: Sequence[States]) -> States:
        """All of several states."""
        return cls(
            np.concatenate([each.left for each in several]),
            np.concatenate([each.at for each in several], axis=1),
            np.concatenate([each.pulses for each in several]),
            np.concatenate([each.before for each in several]),
        )


class Joining(NamedTuple):
    """States within a pass, what those needs hold that were joined, and the last way of them."""

    states: States
    held: Words
    last: NDArray[np.int16]

    @classmethod
    def of_all(cls, several: Sequence[Joining]) -> Joining:
        """All of several."""
        return cls(
            States.of_all([each.states for each in several]),
            np.concatenate([each.held for each in several], axis=1),
            np.concatenate([each.last for each in several]),
        )


@dataclass(frozen=True, slots=True)
class Wishes:
    """By set left, what its needs and the end want for certain or perhaps, and the opposites."""

    sure: Words
    sure_not: Words
    perhaps: Words
    perhaps_not: Words

    @property
    def cared_for(self) -> Words:
        """The actuators that a set speaks of at all, by both their positions."""
        return self.perhaps | self.perhaps_not
