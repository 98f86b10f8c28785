"""The trajectories that take the fewest pulses: one actuator after the other, all choices at once.

Of some choices it is told for each way of each need in which passes it may still hold. Where they
leave the same open the one with the fewest pulses stays, and only those go on that may come to
fewer pulses than the best so far: each actuator that is left takes at least its cheapest trajectory
that leaves every need a pass. Where no need has two actuators left that is what they take.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from seqc.machine.effort import Work
from seqc.solver.passes.colouring import EffortError
from seqc.solver.trajectories.asked import FULFILLED, Asked, Passes, columns_of
from seqc.solver.trajectories.branching import beside, branching_order
from seqc.solver.trajectories.choices import FAR, NONE, Choices
from seqc.solver.trajectories.trajectory import Trajectories
from seqc.solver.ways import Ways

WIDTHS = (100, 3_000, 200_000)
"""So many choices may be kept, in one search after the other until one keeps all it has to."""

AT_ONCE = 2_000
"""So many choices are gone on from at a time."""

ASKED = 50_000
"""It is as much work as a node to ask so often whether a way may hold on a trajectory."""


class TrajectorySearch:
    """The search for the trajectories of all actuators that fulfil every need in some pass."""

    def __init__(
        self, needs: Sequence[Ways], options: Mapping[int, Trajectories], passes: int, work: Work
    ) -> None:
        self._passes = passes
        self._columns = columns_of(needs)
        numbers = np.array([number for number, _ in self._columns])
        self._places = [np.flatnonzero(numbers == number) for number in range(len(needs))]
        self._asked = {index: Asked(index, needs, option) for index, option in options.items()}
        self._place = {index: place for place, index in enumerate(options)}
        self._order = branching_order(needs)
        self._beside = beside(needs, self._order)
        self._work = work

    def best(self) -> dict[int, int] | None:
        """The number of the trajectory of each actuator, None if no trajectories fulfil all needs.

        Raises EffortError where the effort doesn't suffice.
        """
        best: dict[int, int] | None = None
        below = FAR
        for width in WIDTHS:
            layers, cut = self._search(below, width)
            if layers:
                below = int(layers[-1].lower_bound[0])
                best = self._chosen(layers)
            if not cut:
                return best
        raise EffortError

    def _search(self, below: int, width: int) -> tuple[list[Choices], bool]:
        """The choices turn by turn, and whether some were left out.

        The last turn begins with the best; there are none where none takes fewer pulses than
        `below`, nor where the widest search would have to leave some out.
        """
        layers = [self._first()]
        if layers[0].lower_bound[0] >= below:
            return [], False
        cut = False
        for turn in range(len(self._order)):
            choices = self._next(layers[-1], turn, below)
            rank = np.argsort(choices.lower_bound, kind="stable")
            cut = cut or len(rank) > width
            if not len(rank) or (cut and width == WIDTHS[-1]):
                return [], cut
            layers.append(choices.of(rank[:width]))
        return layers, cut

    def _first(self) -> Choices:
        """Before any trajectory is chosen every pass is open to every way."""
        every = np.full((1, len(self._columns)), (1 << self._passes) - 1, np.uint8)
        ahead = np.array([self._ahead(index, every) for index in self._asked]).T
        nothing = np.zeros(1, np.intp)
        return Choices(every, ahead, np.zeros(1, np.int32), nothing, nothing)

    def _next(self, choices: Choices, turn: int, below: int) -> Choices:
        """What one more turn leads to that may come to fewer pulses."""
        found = []
        for first in range(0, len(choices.pulses), AT_ONCE):
            after = self._taken(choices.of(np.s_[first : first + AT_ONCE]), turn, below)
            after = self._completed(after._replace(before=after.before + first), turn)
            found.append(self._promising(after.merged(), turn, below))
        return Choices.of_all(found).merged()

    def _taken(self, choices: Choices, turn: int, below: int) -> Choices:
        """The choices with each trajectory of an actuator that leaves every need a pass."""
        index = self._order[turn]
        asked, place = self._asked[index], self._place[index]
        others = choices.lower_bound - choices.ahead[:, place]
        promising = others[:, None] + asked.pulses < below
        before, trajectory = np.nonzero(promising & self._allowed(index, choices.open_to))
        open_to, ahead = choices.open_to[before], choices.ahead[before]
        open_to[:, asked.columns] &= asked.holds[trajectory]
        ahead[:, place] = 0
        return Choices(
            open_to, ahead, choices.pulses[before] + asked.pulses[trajectory], before, trajectory
        )

    def _completed(self, choices: Choices, turn: int) -> Choices:
        """The choices, all of a need fulfilled as soon as one of its ways holds for sure."""
        taken = sum(1 << index for index in self._order[: turn + 1])
        for places in self._places:
            sure = [place for place in places if not self._columns[place][1].known & ~taken]
            if sure:
                held = choices.open_to[:, sure].any(axis=1)
                choices.open_to[np.ix_(held, places)] = FULFILLED
        return choices

    def _promising(self, choices: Choices, turn: int, below: int) -> Choices:
        """The choices that may come to fewer pulses, with those of the actuators concerned."""
        for index in self._beside[turn]:
            choices.ahead[:, self._place[index]] = self._ahead(index, choices.open_to)
            choices = choices.of(choices.lower_bound < below)
        return choices

    def _ahead(self, index: int, open_to: Passes) -> NDArray[np.uint8]:
        """The pulses of the cheapest trajectory of an actuator that leaves every need a pass."""
        pulses = self._asked[index].pulses
        lower_bound: NDArray[np.int32] = np.where(self._allowed(index, open_to), pulses, NONE).min(
            axis=1
        )
        return lower_bound.astype(np.uint8)

    def _allowed(self, index: int, open_to: Passes) -> NDArray[np.bool_]:
        """Which trajectories of an actuator leave every need a pass."""
        asked = self._asked[index]
        self._work.spend(1 + len(open_to) * asked.holds.size // ASKED)
        if self._work.over:
            raise EffortError
        return asked.allowed(open_to)

    def _chosen(self, layers: Sequence[Choices]) -> dict[int, int]:
        """The trajectories of the first choice of the last layer, and those of the rest."""
        open_to = layers[-1].open_to[:1]
        chosen = {}
        for index in self._asked.keys() - set(self._order):
            pulses = np.where(self._allowed(index, open_to), self._asked[index].pulses, NONE)
            chosen[index] = int(pulses.argmin())
        place = 0
        for choices, index in zip(reversed(layers[1:]), reversed(self._order), strict=True):
            chosen[index] = int(choices.trajectory[place])
            place = int(choices.before[place])
        return chosen
