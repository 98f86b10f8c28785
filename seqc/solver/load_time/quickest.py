"""Of the plans with the fewest passes the one that is loaded soonest, by the schedule itself.

The first passes of a plan take no longer than the plan, and the pace of the load says how long the
rest must still take; so a beginning that can't become better than the best plan found so far is
left. Selectors are set in the pass that needs them, not before.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from seqc.machine.effort import Work
from seqc.solver.load_time.beginnings import Beginning, Beginnings
from seqc.solver.load_time.stop_bound import Cost, Stop, StopBound, Timer
from seqc.solver.load_time.trials import Trials
from seqc.solver.loading import Loading
from seqc.solver.objective import Objective
from seqc.solver.passes.colouring import EffortError
from seqc.solver.passes.held_karp import MOST_STOPS, stops_within, table_nodes
from seqc.solver.passes.order import OrderSearch, OrderState
from seqc.solver.passes.reduction import Component, whole
from seqc.solver.positions import Positions
from seqc.solver.ways import Ways

TABLE_PART = 4
"""Such a part of the work may go into the table for a bound of the pulses."""

BEGUN = 3
"""So many nodes of work is a beginning, without its timing."""

WORTH_TIMING = 2
"""With so many passes still to come, a beginning is worth a timing of its own."""


@dataclass(frozen=True, slots=True)
class TimedLoading:
    """A loading with its time and the least time that any loading in as few passes takes."""

    loading: Loading
    load_us: int
    load_bound_us: int


def _bounding(component: Component, passes: int, work: Work) -> OrderSearch:
    """The search whose bound of the pulses still to come is asked for; its table is paid for."""
    windows = not component.complete
    stops = stops_within(len(component.needs), work.left // TABLE_PART, windows)
    work.spend(table_nodes(stops, windows))
    return OrderSearch(component, passes, stops=stops)


class QuickestSearch:
    """The search for one grid, in as few passes as the loading that is known.

    `known` has the fewest pulses. `needs` are those of each gate; gates are `alike` that nothing
    else tells apart.
    """

    def __init__(
        self,
        known: Loading,
        needs: Mapping[int, Ways],
        alike: Mapping[int, Hashable],
        positions: tuple[Positions, Positions],
        timer: Timer,
        objective: Objective,
    ) -> None:
        """`positions` are those of the start and of the end."""
        start, end = positions
        passes = len(known.passes)
        self.known = known
        self.objective = objective
        self.beginnings = Beginnings(needs, alike, start, end, passes)
        self._search = _bounding(whole(needs.values(), start, end), passes, timer.work)
        numbers = {ways: number for number, ways in enumerate(self._search.needs)}
        self._numbers = [numbers.get(kind.ways, -1) for kind in self.beginnings.kinds]
        stops = [
            Stop((ways,), tuple(gate for gate, need in needs.items() if need == ways))
            for ways in self.beginnings.stops
        ]
        self._stop_bound = StopBound(stops, start, end, timer, objective) if stops else None
        self._trials = Trials(known.passes, timer, objective)

    def best(self) -> TimedLoading:
        """The best loading, and how good it is."""
        trials = self._trials
        if self.lower_bound < trials.cost:
            self._dive()
        waiting = [(self.lower_bound, self.beginnings.first)]
        if self._stop_bound is None and self.beginnings.passes > MOST_STOPS:
            trials.leave_out(self.lower_bound)
            waiting = []
        while waiting:
            bound, beginning = waiting.pop()
            if bound >= trials.cost:
                continue
            if trials.over:
                trials.leave_out(bound)
            elif beginning.ended:
                trials.keep(beginning.passes)
            else:
                try:
                    waiting += self._after(beginning)
                except EffortError:
                    trials.leave_out(bound)
        return self._answer()

    def _dive(self) -> None:
        """Try the load that is best as far as bounds tell without any timing."""
        beginning = self.beginnings.first
        while not beginning.ended:
            try:
                after = [
                    self._reached_at(beginning, more) for more in self.beginnings.after(beginning)
                ]
            except EffortError:
                return
            if not after:
                return
            beginning = min(after, key=self._bound)
        self._trials.keep(beginning.passes)

    @cached_property
    def lower_bound(self) -> Cost:
        """No load costs less, as far as can be said before the search."""
        lower_bound = self._trials.cost_of(0, self.known.pulses_bound)
        return max(lower_bound, self._stop_bound.whole()) if self._stop_bound else lower_bound

    def _after(self, beginning: Beginning) -> list[tuple[Cost, Beginning]]:
        """One more pass in every way that may still be better, the most hopeful last."""
        found = []
        for after in self.beginnings.after(beginning):
            self._trials.timer.work.spend(BEGUN)
            reached = self._reached_at(beginning, after)
            bound = self._bound(reached)
            passes_left = self.beginnings.passes - len(after.passes)
            if bound < self._trials.cost and passes_left >= WORTH_TIMING:
                at_us = self._at_us(reached, bound)
                reached = replace(reached, at_us=max(reached.at_us, at_us))
                bound = self._bound(reached)
            if bound < self._trials.cost:
                found.append((bound, reached))
        return sorted(found, key=lambda each: each[0], reverse=True)

    def _reached_at(self, before: Beginning, after: Beginning) -> Beginning:
        """The beginning with what its stops say of its last pass."""
        if self._stop_bound is None:
            return replace(after, at_us=before.at_us)
        return replace(
            after, at_us=before.at_us + self._stop_bound.step_us(before.stop, after.stop)
        )

    def _at_us(self, beginning: Beginning, sure: Cost) -> int:
        """The least time of a beginning: to its end, or to the first throw for its last stop."""
        if self._stop_bound is None:
            return self._trials.least_us(beginning.passes, sure)
        last = beginning.passes[-1]
        kept = self.beginnings.gates_of(beginning.stop)
        step = replace(last, operated=tuple(gate for gate in last.operated if gate in kept))
        return self._trials.throw_us((*beginning.passes[:-1], step))

    def _bound(self, beginning: Beginning) -> Cost:
        """No load that begins so costs less."""
        pulses = beginning.pulses + self._search.still(self._state(beginning))
        lower_bound = self._trials.cost_of(beginning.at_us, pulses)
        if self._stop_bound is None:
            return lower_bound
        stops = self.beginnings.stops_left(beginning)
        bounded = self._stop_bound.still(beginning.at_us, beginning.pulses, beginning.stop, stops)
        if self.objective is Objective.LOAD_TIME:
            lower_bound = (bounded[0], pulses)
        return max(lower_bound, bounded)

    def _state(self, beginning: Beginning) -> OrderState:
        """The beginning as the search for the fewest pulses sees it."""
        left, loaded = 0, -1
        for number, count, kind in zip(
            self._numbers, beginning.left, self.beginnings.kinds, strict=True
        ):
            if number >= 0 and count:
                left |= 1 << number
            if kind.stop == beginning.stop >= 0:
                loaded = number
        return OrderState(left, beginning.positions, 0, beginning.pulses, loaded)

    def _answer(self) -> TimedLoading:
        """The best loading with its bounds, where no plan costs less than what was left out."""
        passes, cost, lower_bound = self._trials.best, self._trials.cost, self._trials.lower_bound
        quick = self.objective is Objective.LOAD_TIME
        load_us, pulses = cost if quick else cost[::-1]
        load_bound_us = lower_bound[0] if quick else min(load_us, lower_bound[1])
        pulses_bound = pulses if quick and lower_bound == cost else self.known.pulses_bound
        loading = replace(
            self.known, passes=passes, end=passes[-1].positions, pulses_bound=pulses_bound
        )
        return TimedLoading(loading, load_us, load_bound_us)
