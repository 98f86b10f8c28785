"""Where one section may stand after some passes, and what it takes to move it on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import reduce
from operator import or_

import numpy as np
from numpy.typing import NDArray

from seqc.solver.positions import Positions
from seqc.solver.ways import Ways

Numbers = NDArray[np.int32]


class Moves:
    """The states of one section, each with a number; 0 is that of the start.

    A state tells by where the section may stand how many pulses more that took than the fewest.
    What is wanted of the section has numbers too, 0 for nothing. States and moves are worked out as
    they are asked for.
    """

    def __init__(
        self, first: Iterable[Positions], wants: Sequence[Ways], of_needs: Numbers
    ) -> None:
        """`first` is where the section may stand at the start; `of_needs` what each need wants."""
        self._wants = wants
        self._needs = [wants[want] for want in of_needs]
        self._states: list[Mapping[Positions, int]] = []
        self._numbers: dict[frozenset[tuple[Positions, int]], int] = {}
        self._pulses = np.full((1, len(wants)), -1, np.int32)
        self._after = np.zeros((1, len(wants)), np.int32)
        self._serves = np.zeros(1, np.uint64)
        self._number(dict.fromkeys(first, 0))

    def after(self, states: Numbers, wants: Numbers) -> tuple[Numbers, Numbers]:
        """The pulses that passes add to the fewest, and the states after them."""
        pulses = self._pulses[states, wants]
        unknown = np.flatnonzero(pulses < 0)
        if len(unknown):
            width = len(self._wants)
            for code in np.unique(states[unknown].astype(np.int64) * width + wants[unknown]):
                self._move(*divmod(int(code), width))
            pulses = self._pulses[states, wants]
        return pulses, self._after[states, wants]

    def after_one(self, state: int, want: int) -> tuple[int, int]:
        """The pulses that one pass adds to the fewest, and the state after it."""
        if self._pulses[state, want] < 0:
            self._move(state, want)
        return int(self._pulses[state, want]), int(self._after[state, want])

    def served(self, states: Numbers) -> NDArray[np.uint64]:
        """The bit sets of needs that want nothing more of the section, wherever it stands."""
        return self._serves[states]

    def _move(self, state: int, want: int) -> None:
        found = _reached(self._states[state], self._wants[want])
        added = min(found.values())
        number = self._number({at: pulses - added for at, pulses in found.items()})
        self._pulses[state, want], self._after[state, want] = added, number

    def _number(self, state: Mapping[Positions, int]) -> int:
        """The number of a state, a new one if it isn't known."""
        number = self._numbers.setdefault(frozenset(state.items()), len(self._states))
        if number == len(self._states):
            self._states.append(state)
            if number == len(self._serves):
                self._pulses = np.concatenate([self._pulses, np.full_like(self._pulses, -1)])
                self._after = np.concatenate([self._after, np.zeros_like(self._after)])
                self._serves = np.concatenate([self._serves, np.zeros_like(self._serves)])
            self._serves[number] = reduce(
                or_,
                (1 << need for need, ways in enumerate(self._needs) if _holds(state, ways)),
                0,
            )
        return number


def _holds(state: Mapping[Positions, int], ways: Ways) -> bool:
    """Whether a condition holds wherever the section may stand."""
    return all(any(not at.missing(way) for way in ways) for at in state)


def _reached(state: Mapping[Positions, int], ways: Ways) -> dict[Positions, int]:
    """Where a section can stand after one more pass, without where it is never better to stand."""
    found: dict[Positions, int] = {}
    for at, pulses in state.items():
        for way in ways:
            after, count = at.then(way), pulses + at.missing(way).bit_count()
            found[after] = min(found.get(after, count), count)
    return {
        at: pulses
        for at, pulses in found.items()
        if not any(
            other != at and less + other.missing(at).bit_count() <= pulses
            for other, less in found.items()
        )
    }
