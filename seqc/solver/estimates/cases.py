"""A bound case by case: how often each actuator returns to the side on which it started.

A bound by tolls mixes orders: an actuator that returns once in the one and never in the other
returns half a time in the mixture. No order does, so either it returns at most as often as the
whole number below says, or at least as often as the one above. Each answer parts the mixture. The
case with the least bound is always split next (A. Land and A. Doig, An automatic method of solving
discrete programming problems, 1960). For the travelling salesman D. Applegate, R. Bixby, V. Chvatal
and W. Cook ask in the same way how often a set of places is entered (The traveling salesman
problem: a computational study, 2006).
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from seqc.solver.estimates.ascent import Stage, Steps, ascend
from seqc.solver.estimates.climb import Climb
from seqc.solver.estimates.returns import Limit, Returns
from seqc.solver.estimates.spanning import FINE
from seqc.solver.estimates.tolls import Tolls

if TYPE_CHECKING:
    from seqc.solver.estimates.ascent import Values

CANDIDATES = 6
CLEAR = 0.05
"""Who returns so nearly a whole number of times isn't asked about."""

TRIAL = (Stage(30, 1, (0.06, 0.03), (0.06, 0.03)),)
STAGES = (Stage(60, 1, (0.06, 0.03), (0.06, 0.03)), Stage(80, 1, (0.03, 0.01), (0.03, 0.005)))
TURN = 10_000
"""A turn takes as long as looking at so many steps, and then the longer the more there are."""

WORST = 3
"""So many times the worst of two answers counts when questions are compared."""


@dataclass(frozen=True, slots=True, order=True)
class _Case:
    """A bound in 1/`FINE` pulses, the steps that are left, and what is asked of returns.

    `returns` says how often each actuator returns in the mixture.
    """

    least: int
    ticket: int
    steps: Steps = field(compare=False)
    limits: tuple[Limit, ...] = field(compare=False)
    tolls: Values = field(compare=False)
    prices: Values = field(compare=False)
    returns: Values = field(compare=False)


class Cases:
    """The cases of a bound by tolls, split until the bound is enough or the effort is spent.

    What is `spent` of the effort are the steps that were looked at.
    """

    def __init__(self, tolls: Tolls, enough: int, effort: int) -> None:
        self._tolls = tolls
        self._places = tolls.trails.places
        self._returns = Returns(tolls.trails)
        self._goal = FINE * (enough - 1) + 1
        self._effort = effort
        self.spent = 0
        self._tickets = itertools.count()

    def least(self) -> int:
        """A bound of the pulses, at most what is enough."""
        waiting = self._below_goal([self._whole()], STAGES)
        while waiting and self.spent < self._effort:
            answers = self._answered(waiting[0])
            if answers is None:
                break
            heapq.heappop(waiting)
            for case in self._below_goal(answers, STAGES):
                heapq.heappush(waiting, case)
        return -(-(waiting[0].least if waiting else self._goal) // FINE)

    def _whole(self) -> _Case:
        """Everything as one case; what is prepaid for crossings are its first prices."""
        prepaid = self._tolls.prepaid_each
        steps = self._tolls.steps_below(self._goal)
        return _Case(
            0,
            next(self._tickets),
            steps,
            tuple(Limit(actuator, False, 1, 1) for actuator in prepaid),
            self._tolls.values,
            np.array(list(prepaid.values())),
            np.zeros(0),
        )

    def _answered(self, case: _Case) -> list[_Case] | None:
        """The answers to the question that says most; None where nothing is unclear."""
        questions = [self._below_goal(self._split(case, who), TRIAL) for who in _unclear(case)]
        return min(questions, key=self._lacking, default=None)

    def _lacking(self, answers: Sequence[_Case]) -> int:
        lacking = [self._goal - case.least for case in answers]
        return WORST * max(lacking, default=0) + sum(lacking)

    def _split(self, case: _Case, actuator: int) -> Iterator[_Case]:
        """One case where an actuator returns oftener than now, and one where it doesn't."""
        often = int(case.returns[actuator])
        sides = [Limit(actuator, True, 1, often + 1)]
        if often:
            sides.append(Limit(actuator, True, -1, often))
        else:
            never = case.steps.only(~self._returns.led(case.steps, actuator, back=True))
            yield replace(case, ticket=next(self._tickets), steps=never)
        for limit in sides:
            others = [number for number, old in enumerate(case.limits) if not limit.replaces(old)]
            limits = (*(case.limits[number] for number in others), limit)
            prices = np.append(case.prices[others], 0.0)
            yield replace(case, ticket=next(self._tickets), limits=limits, prices=prices)

    def _below_goal(self, cases: Iterable[_Case], stages: Sequence[Stage]) -> list[_Case]:
        """Those that may take less than enough, with better bounds."""
        better = (self._improved(case, stages) for case in cases)
        return [case for case in better if case is not None and case.least < self._goal]

    def _improved(self, case: _Case, stages: Sequence[Stage]) -> _Case | None:
        """The case with better tolls and prices, without steps that are too dear.

        None where no way is left.
        """
        steps = case.steps.linked()
        if len(steps.begins) < self._places:
            return None
        tolls, prices = Climb(case.tolls), Climb(case.prices)
        for stage in stages:
            _, extra = self._valued(steps, case.limits, tolls, prices)
            near = steps.only(extra < FINE * stage.within)
            counts = self._returns.counts(near, case.limits)
            share = ascend(near, counts, tolls, prices, stage)
            self.spent += stage.turns * (TURN + len(near))
        least, extra = self._valued(steps, case.limits, tolls, prices)
        return replace(
            case,
            least=max(case.least, least),
            steps=steps.only(least + extra < self._goal),
            tolls=tolls.values,
            prices=prices.values,
            returns=self._returns.times(near, share),
        )

    def _valued(
        self, steps: Steps, limits: Sequence[Limit], tolls: Climb, prices: Climb
    ) -> tuple[int, Values]:
        """A bound, and what each step costs more than the cheapest one into its place.

        All are whole numbers of 1/`FINE` pulses.
        """
        counts = self._returns.counts(steps, limits)
        fine_tolls, fine_prices = (np.rint(FINE * some.values) for some in (tolls, prices))
        costs = replace(steps, pulses=FINE * steps.pulses).tolled(fine_tolls)
        costs -= counts.savings(fine_prices, len(steps), FINE)
        cheapest = steps.cheapest(costs)
        least = cheapest[steps.begins].sum() + counts.owed(fine_prices)
        return int(least), costs - cheapest


def _unclear(case: _Case) -> list[int]:
    """The actuators that are farthest from returning a whole number of times."""
    far = np.abs(case.returns - np.rint(case.returns))
    order = np.argsort(-far, kind="stable")[:CANDIDATES]
    return [int(actuator) for actuator in order if far[actuator] > CLEAR]
