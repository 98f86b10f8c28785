"""The courses that take the fewest pulses: one actuator after the other, all choices at once.

A state tells for each way of each need in which passes it may still hold. Of equal states the one
with the fewest pulses stays, and only those go on that may come to fewer pulses than the best so
far: each actuator that is left takes at least its cheapest course that leaves every need a pass.
Where no need has two actuators left that is what they take.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from seqc.solver.courses.asked import FULFILLED, Asked, Passes, columns_of
from seqc.solver.courses.course import Courses
from seqc.solver.passes.colouring import EffortError
from seqc.solver.positions import bits
from seqc.solver.ways import Ways, actuators_in

WIDTHS = (100, 3_000, 200_000)
"""So many states may be kept, in one search after the other until one keeps all it has to."""

AT_ONCE = 2_000
"""So many states are gone on from at a time."""

MOST_EFFORT = 3_000_000_000
"""So often it may be asked whether a way may hold on a course; some 2 ns each."""

FAR = 1 << 20

Indexes = NDArray[np.intp]


class States(NamedTuple):
    """The passes open to each way, a row a state; the pulses; the state before; the course."""

    open_to: Passes
    pulses: NDArray[np.int32]
    before: Indexes
    course: Indexes

    def of(self, chosen: Indexes | NDArray[np.bool_] | slice) -> States:
        """Some of the states."""
        return States(
            self.open_to[chosen], self.pulses[chosen], self.before[chosen], self.course[chosen]
        )

    @classmethod
    def of_all(cls, several: Sequence[States]) -> States:
        """All of several."""
        return cls(
            np.concatenate([each.open_to for each in several]),
            np.concatenate([each.pulses for each in several]),
            np.concatenate([each.before for each in several]),
            np.concatenate([each.course for each in several]),
        )

    def merged(self) -> States:
        """Of equal states the one with the fewest pulses."""
        order = np.argsort(self.pulses, kind="stable")
        rows = np.ascontiguousarray(self.open_to[order])
        whole_rows = rows.view(np.dtype((np.void, rows.shape[1]))).ravel()
        return self.of(order[np.unique(whole_rows, return_index=True)[1]])


class CourseSearch:
    """The search for the courses of all actuators that fulfil every need in some pass."""

    def __init__(self, needs: Sequence[Ways], options: Mapping[int, Courses], passes: int) -> None:
        self._passes = passes
        self._columns = columns_of(needs)
        numbers = np.array([number for number, _ in self._columns])
        self._places = [np.flatnonzero(numbers == number) for number in range(len(needs))]
        self._asked = {index: Asked(index, needs, option) for index, option in options.items()}
        self._turns = _turns(needs)
        self._spent = 0

    def best(self) -> dict[int, int] | None:
        """The number of the course of each actuator, None if no courses fulfil all needs.

        Raises EffortError where the effort doesn't suffice.
        """
        best: dict[int, int] | None = None
        below = FAR
        for width in WIDTHS:
            layers, cut = self._search(below, width)
            if layers:
                last = layers[-1]
                below = int(last.pulses[0] + self._to_come(last, len(self._turns))[0])
                best = self._chosen(layers)
            if not cut:
                return best
        raise EffortError

    def _search(self, below: int, width: int) -> tuple[list[States], bool]:
        """The states turn by turn, and whether some were left out.

        The last turn begins with the best; there are none where none takes fewer pulses than
        `below`.
        """
        layers = [self._first()]
        if self._to_come(layers[0], 0)[0] >= below:
            return [], False
        cut = False
        for turn in range(1, len(self._turns) + 1):
            states, least = self._next(layers[-1], turn, below)
            rank = np.argsort(least, kind="stable")
            cut = cut or len(rank) > width
            layers.append(states.of(rank[:width]))
            if not len(rank):
                return [], cut
        return layers, cut

    def _next(self, states: States, turn: int, below: int) -> tuple[States, NDArray[np.int32]]:
        """What one more turn leads to that may come to fewer pulses, and the least of each."""
        found = []
        for first in range(0, len(states.pulses), AT_ONCE):
            if self._spent > MOST_EFFORT:
                raise EffortError
            after = self._taken(states.of(np.s_[first : first + AT_ONCE]), self._turns[turn - 1])
            after = self._completed(after._replace(before=after.before + first), turn).merged()
            found.append(after.of(after.pulses + self._to_come(after, turn) < below))
        every = States.of_all(found).merged()
        return every, every.pulses + self._to_come(every, turn)

    def _first(self) -> States:
        """Before any course is taken every pass is open to every way."""
        every = np.full((1, len(self._columns)), (1 << self._passes) - 1, np.uint8)
        nothing = np.zeros(1, np.intp)
        return States(every, np.zeros(1, np.int32), nothing, nothing)

    def _taken(self, states: States, index: int) -> States:
        """The states after each course of an actuator that leaves every need a pass."""
        asked = self._asked[index]
        before, course = np.nonzero(asked.allowed(states.open_to))
        open_to = states.open_to[before]
        open_to[:, asked.columns] &= asked.holds[course]
        return States(open_to, states.pulses[before] + asked.pulses[course], before, course)

    def _completed(self, states: States, turn: int) -> States:
        """The states, all of a need fulfilled as soon as one of its ways holds for sure."""
        taken = sum(1 << index for index in self._turns[:turn])
        for places in self._places:
            sure = [place for place in places if not self._columns[place][1].known & ~taken]
            if sure:
                held = states.open_to[:, sure].any(axis=1)
                states.open_to[np.ix_(held, places)] = FULFILLED
        return states

    def _to_come(self, states: States, turn: int) -> NDArray[np.int32]:
        """The pulses that the actuators that are left take at least."""
        left = self._asked.keys() - set(self._turns[:turn])
        least = np.zeros(len(states.pulses), np.int32)
        for index in left:
            asked = self._asked[index]
            self._spent += len(least) * asked.holds.size
            allowed = asked.allowed(states.open_to)
            least += np.where(allowed, asked.pulses, FAR).min(axis=1)
        return least

    def _chosen(self, layers: Sequence[States]) -> dict[int, int]:
        """The courses on the way to the first state of the last layer, and those of the rest."""
        last = layers[-1].of(np.array([0]))
        chosen = {}
        for index in self._asked.keys() - set(self._turns):
            asked = self._asked[index]
            allowed = asked.allowed(last.open_to)[0]
            chosen[index] = int(np.where(allowed, asked.pulses, FAR).argmin())
        place = 0
        for states, index in zip(reversed(layers[1:]), reversed(self._turns), strict=True):
            chosen[index] = int(states.course[place])
            place = int(states.before[place])
        return chosen


def _turns(needs: Iterable[Ways]) -> list[int]:
    """Actuators until no need has two left, each time the one in most needs that have."""
    left = [actuators_in(ways) for ways in needs]
    found = []
    while several := [mask for mask in left if mask.bit_count() > 1]:
        counts: dict[int, int] = {}
        for mask in several:
            for index in bits(mask):
                counts[index] = counts.get(index, 0) + 1
        chosen = max(counts, key=counts.__getitem__)
        found.append(chosen)
        left = [mask & ~(1 << chosen) for mask in left]
    return found
