"""Of the plans with the fewest passes the one that is loaded soonest, by the schedule itself.

The first passes of a plan take no longer than the plan, so a beginning that takes as long as the
best plan found so far can be left. Selectors are set in the pass that needs them, not before, and
every gate is operated in the first pass that fulfils its need.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from seqc.solver.colouring import EffortError
from seqc.solver.loading import Loading, LoadPass, passes_of
from seqc.solver.objective import Objective
from seqc.solver.order import LoadState, OrderSearch
from seqc.solver.positions import Positions
from seqc.solver.reduction import whole
from seqc.solver.ways import Ways

MOST_TIMINGS = 300
WORTH_TIMING = 3
"""With so many passes still to come, a beginning is worth a timing of its own."""

TimeOf = Callable[[Sequence[LoadPass]], tuple[int, int]]
"""The time of some passes, in microseconds, and the least it could be."""

_Rank = tuple[int, int]


@dataclass(frozen=True, slots=True)
class TimedLoading:
    """A loading with its time and the least time that any loading in as few passes takes."""

    loading: Loading
    load_us: int
    least_load_us: int


class QuickestSearch:
    """The search for one grid, from the loading with the fewest pulses on."""

    def __init__(
        self,
        needs: Mapping[int, Ways],
        start: Positions,
        end: Positions,
        time_of: TimeOf,
        objective: Objective,
    ) -> None:
        self.needs = needs
        self.start = start
        self.end = end
        self.time_of = time_of
        self.objective = objective
        self._known: dict[tuple[LoadPass, ...], tuple[int, int]] = {}
        self._timings = MOST_TIMINGS

    def best(self, known: Loading) -> TimedLoading:
        """The best loading; `known` is the one with the fewest pulses."""
        best = known.passes
        rank = self._rank(self._time(best)[0], _pulses(best))
        search = OrderSearch(whole(self.needs.values(), self.start, self.end), len(known.passes))
        waiting = [(self._rank(0, known.least_pulses), search.first)]
        left_out: list[_Rank] = []
        while waiting:
            bound, state = waiting.pop()
            if bound >= rank:
                continue
            if self._timings <= 0:
                left_out.append(bound)
            elif state.left:
                try:
                    waiting += self._beginnings(search, state, self._load_us(bound), rank)
                except EffortError:
                    left_out.append(bound)
            else:
                passes = self._passes(state)
                found, sure = (self._rank(us, _pulses(passes)) for us in self._time(passes))
                left_out += [sure] if sure < found else []
                if found < rank:
                    best, rank = passes, found
        return self._answer(known, best, rank, min(left_out, default=rank))

    def _beginnings(
        self, search: OrderSearch, state: LoadState, least_us: int, rank: _Rank
    ) -> list[tuple[_Rank, LoadState]]:
        """One more pass in every way that can still be better, the most hopeful last.

        `least_us` is what is known of the load time so far. A beginning is timed only where its
        bound can spare more timings than it takes.
        """
        found = []
        for after in search.after(state):
            pulses = after.pulses + search.still(after)
            if self._rank(0, pulses) < rank:
                worth = after.passes_left >= WORTH_TIMING
                load_us = self._time(self._passes(after))[1] if worth else least_us
                found.append((self._rank(load_us, pulses), after))
        return sorted(found, key=lambda each: each[0], reverse=True)

    def _passes(self, state: LoadState) -> tuple[LoadPass, ...]:
        holds = list(state.holds())
        if not state.left:
            holds[-1] = holds[-1].then(self.end)
        return passes_of(self.needs, holds, self.start)

    def _time(self, passes: tuple[LoadPass, ...]) -> tuple[int, int]:
        if passes not in self._known:
            self._timings -= 1
            self._known[passes] = self.time_of(passes)
        return self._known[passes]

    def _rank(self, load_us: int, pulses: int) -> _Rank:
        quick = self.objective is Objective.LOAD_TIME
        return (load_us, pulses) if quick else (pulses, load_us)

    def _load_us(self, rank: _Rank) -> int:
        return rank[0] if self.objective is Objective.LOAD_TIME else rank[1]

    def _answer(
        self, known: Loading, passes: tuple[LoadPass, ...], rank: _Rank, open_rank: _Rank
    ) -> TimedLoading:
        """The best loading with its bounds, where nothing better than `open_rank` was left out."""
        quick = self.objective is Objective.LOAD_TIME
        load_us, pulses = rank if quick else rank[::-1]
        least = min(rank, open_rank)
        least_load_us = least[0] if quick else min(load_us, least[1])
        least_pulses = pulses if quick and least == rank else known.least_pulses
        loading = replace(known, passes=passes, end=passes[-1].positions, least_pulses=least_pulses)
        return TimedLoading(loading, load_us, least_load_us)


def _pulses(passes: Sequence[LoadPass]) -> int:
    return sum(step.pulsed.bit_count() for step in passes)
