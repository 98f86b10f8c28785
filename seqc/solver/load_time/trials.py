"""The loads that were put into time: the best of them, and what each of the others could still be.

A search for a shorter schedule goes no further than a load could still be better than the best.
"""

from __future__ import annotations

from collections.abc import Sequence

from seqc.solver.load_time.load_timer import FOREVER
from seqc.solver.load_time.stop_bound import Cost, Timer
from seqc.solver.loading import PassStep
from seqc.solver.objective import Objective


class Trials:
    """The trials of one load. `best` costs `cost`, what was left out `lower_bound` or more.

    What a load or its beginning costs at least is called `sure`.
    """

    def __init__(self, known: tuple[PassStep, ...], timer: Timer, objective: Objective) -> None:
        self.timer = timer
        self.objective = objective
        self.best = known
        self.cost: Cost = (FOREVER, FOREVER)
        self._left_out: list[Cost] = []
        self.keep(known)

    @property
    def over(self) -> bool:
        """Whether no more is put into time."""
        return self.timer.work.over

    @property
    def lower_bound(self) -> Cost:
        """No load costs less, of those that were tried or left out."""
        return min([self.cost, *self._left_out])

    def cost_of(self, load_us: int, pulses: int) -> Cost:
        """A time and pulses, what counts most first."""
        return (load_us, pulses) if self.objective is Objective.LOAD_TIME else (pulses, load_us)

    def leave_out(self, sure: Cost) -> None:
        """Loads aren't tried of which none costs less."""
        self._left_out.append(sure)

    def keep(self, passes: tuple[PassStep, ...]) -> None:
        """Keep a whole load if it is the best so far, and in mind what it could be at best."""
        pulses = pulses_of(passes)
        load_us, least_us = self._load_us(passes, self.cost_of(0, pulses))
        found, sure = self.cost_of(load_us, pulses), self.cost_of(least_us, pulses)
        if found < self.cost:
            self.best, self.cost = passes, found
        if sure < found:
            self.leave_out(sure)

    def least_us(self, passes: Sequence[PassStep], sure: Cost) -> int:
        """The least time of some first passes."""
        return self._load_us(passes, sure)[1]

    def throw_us(self, passes: Sequence[PassStep]) -> int:
        """The least time to the first throw of the last of some first passes."""
        return self.timer.throw_us(passes)

    def _load_us(self, passes: Sequence[PassStep], sure: Cost) -> tuple[int, int]:
        """The time of some passes and the least it could be."""
        return self.timer.load_us(passes, self._useful_us(sure))

    def _useful_us(self, sure: Cost) -> int:
        """From this time on a load of at least such a cost is no better than the best."""
        if self.objective is Objective.LOAD_TIME:
            return self.cost[0] + (sure[1] < self.cost[1])
        return FOREVER if sure[0] < self.cost[0] else self.cost[1]


def pulses_of(passes: Sequence[PassStep]) -> int:
    """The selectors' pulses of some passes."""
    return sum(step.pulsed.bit_count() for step in passes)
