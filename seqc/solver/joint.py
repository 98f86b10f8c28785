"""The frames of one grid planned jointly: where one frame ends is where the next one starts.

Each frame can end in the positions of any of its last passes. The choice over all frames is a
shortest path, for a repeating programme the shortest round, through those positions. The search
takes the way with the least sum of its cost so far and a bound of what must still come (A*: P.
Hart, N. Nilsson, B. Raphael, 1968); a plan is made only when a way that goes through it comes
first. Of two ways to the same positions one is dropped if it stays no better whatever follows.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from seqc.solver.cost import NOTHING, Cost, least_of
from seqc.solver.plan import GridPlan
from seqc.solver.positions import UNKNOWN, Positions
from seqc.solver.shows import Show, ShowPlans


@dataclass(frozen=True)
class Chain:
    """Plans one after the other, and the least cost of any such plans.

    Of a round the cost leaves out the first plan, which comes before it.
    """

    plans: tuple[GridPlan, ...]
    cost: Cost
    least: Cost


@dataclass(frozen=True, slots=True)
class _Way:
    """The way to a frame's end: its cost, the positions, the last plan, and the way before it."""

    cost: Cost
    at: Positions
    number: int = 0
    plan: GridPlan | None = None
    before: _Way | None = None

    def then(self, plan: GridPlan) -> _Way:
        return _Way(self.cost.also(plan.cost), plan.end, self.number + 1, plan, self)

    def plans(self) -> tuple[GridPlan, ...]:
        found = []
        way: _Way | None = self
        while way is not None and way.plan is not None:
            found.append(way.plan)
            way = way.before
        return tuple(reversed(found))


class JointSearch:
    """The search for one grid."""

    def __init__(self, plans: ShowPlans) -> None:
        self.plans = plans

    def line(self, shows: Sequence[Show], start: Positions) -> Chain:
        """The best plans one after the other from the start."""
        search = _LineSearch(self.plans, shows, [self.plans.ends(show) for show in shows])
        way = search.best(start)
        return Chain(way.plans(), way.cost, way.cost if self.plans.exact else search.least(start))

    def round(self, shows: Sequence[Show], start: Positions) -> Chain:
        """The best plans of a round: `shows` has the first glyph, after the last one, once more.

        The last plan ends where the first one does. The cost of a round counts first, then that of
        the first load from the start.
        """
        ends = [self.plans.ends(show) for show in shows[1:-1]]
        best: tuple[Cost, GridPlan, _Way] | None = None
        for first in self._firsts(shows[0], start):
            search = _LineSearch(self.plans, shows[1:], [*ends, (first.end,)], closes=True)
            if best is None or search.least(first.end) < best[0]:
                way = search.best(first.end)
                if best is None or way.cost < best[0]:
                    best = way.cost, first, way
        assert best is not None
        cost, first, way = best
        if self.plans.exact:
            return Chain((first, *way.plans()), cost, cost)
        anywhere = _LineSearch(self.plans, shows[1:], [*ends, (UNKNOWN,)])
        return Chain((first, *way.plans()), cost, anywhere.least(UNKNOWN))

    def _firsts(self, show: Show, start: Positions) -> list[GridPlan]:
        """The first loads that end differently, the best first."""
        plans = [self.plans.plan(show, start, end) for end in self.plans.ends(show)]
        found = sorted((plan for plan in plans if plan is not None), key=lambda plan: plan.cost)
        return list({plan.end: plan for plan in reversed(found)}.values())[::-1]


class _LineSearch:
    """The search for a line of shows, of which each can end in some positions."""

    def __init__(
        self,
        plans: ShowPlans,
        shows: Sequence[Show],
        ends: Sequence[Sequence[Positions]],
        closes: bool = False,
    ) -> None:
        """With `closes` the last show is loaded whole where its end can't be met otherwise."""
        self.plans = plans
        self.shows = shows
        self.ends = ends
        self.closes = closes
        self._rows: dict[tuple[int, int, Positions, bool], list[tuple[Positions, Cost]]] = {}
        self._hopes: list[dict[Positions, Cost]] = [{} for _ in shows]
        self._hopes.append(dict.fromkeys(ends[-1] if ends else (), NOTHING))
        for number in range(len(shows) - 1, 0, -1):
            for end in ends[number - 1]:
                self._hopes[number][end] = self._hope(number, end)

    def _hope(self, number: int, at: Positions) -> Cost:
        """What a show and all after it cost at least from positions that are known in part."""
        onward = self._hopes[number + 1]
        return least_of([least.also(onward[end]) for end, least in self._leasts(number, at)])

    def _leasts(self, number: int, at: Positions) -> list[tuple[Positions, Cost]]:
        """With each end of a show, what its load costs at least; kept for equal shows."""
        show = self.shows[number]
        key = (id(show.glyph), id(show.shown), at, number + 1 == len(self.shows))
        if key not in self._rows:
            ends = self.ends[number]
            self._rows[key] = [(end, self.plans.least(show, at, end)) for end in ends]
        return self._rows[key]

    def least(self, start: Positions) -> Cost:
        """What the line costs at least from a start."""
        return self._hope(0, start) if self.shows else NOTHING

    def best(self, start: Positions) -> _Way:
        """The best way through all shows."""
        first = _Way(NOTHING, start)
        tickets = itertools.count()
        waiting: list[tuple[Cost, int, int, _Way, Positions | None]] = [
            (NOTHING, 0, next(tickets), first, None)
        ]
        done: dict[tuple[int, Positions], list[Cost]] = {}
        while True:
            _, _, _, way, end = heapq.heappop(waiting)
            if end is not None:
                grown = self._grown(way, end)
                if grown is not None:
                    hope = self._hopes[grown.number][end]
                    rank = (grown.cost.also(hope), -grown.number, next(tickets))
                    heapq.heappush(waiting, (*rank, grown, None))
            elif way.number == len(self.shows):
                return way
            else:
                costs = done.setdefault((way.number, way.at), [])
                if any(cost.covers(way.cost) for cost in costs):
                    continue
                costs.append(way.cost)
                for cost, next_end in self._onward(way):
                    heapq.heappush(waiting, (cost, -way.number, next(tickets), way, next_end))

    def _onward(self, way: _Way) -> Iterator[tuple[Cost, Positions]]:
        """The ends that the next show can have, with what the whole line then costs at least."""
        hopes = self._hopes[way.number + 1]
        for end, least in self._leasts(way.number, way.at):
            yield way.cost.also(least).also(hopes[end]), end

    def _grown(self, way: _Way, end: Positions) -> _Way | None:
        """The way with the next show's plan, None where that can't end so."""
        show = self.shows[way.number]
        last = way.number + 1 == len(self.shows)
        if self.closes and last:
            plan = self.plans.closing(show, way.at, end)
        else:
            found = self.plans.plan(show, way.at, end)
            if found is None:
                return None
            plan = found
        return way.then(plan)
