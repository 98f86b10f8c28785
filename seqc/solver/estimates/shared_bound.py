"""A bound for needs that share passes: choice by choice of the pass that a need goes to.

The choice with the least bound is always split next (A. Land and A. Doig, An automatic method of
solving discrete programming problems, 1960), so the least bound of all that are left holds for all.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field

from seqc.solver.estimates.beam import guided_order
from seqc.solver.estimates.trail_bound import TrailBound
from seqc.solver.passes.partners import Partners, partners
from seqc.solver.positions import Positions

EFFORT_EACH = 200_000_000
WIDTH = 1_000


@dataclass(frozen=True, slots=True, order=True)
class _Choice:
    """Some needs taken together, and a bound of what they take."""

    least: int
    ticket: int
    found: Partners = field(compare=False)


@dataclass
class SharedBound:
    """Bounds of the pulses from a start through needs, in so many passes, to an end.

    They are sought until one is enough or so many steps have been looked at.
    """

    start: Positions
    end: Positions
    enough: int
    effort: int

    def least(self, wanted: Sequence[Positions], count: int | None) -> int:
        """No plan of so many passes takes fewer pulses; with None for `count` no plan at all."""
        known = self._in_any_order(wanted)
        found = None if count is None else partners([(need,) for need in wanted], count)
        if found is None:
            return known
        waiting = [_Choice(known, 0, found)]
        tickets = itertools.count(1)
        while waiting and self._worth_splitting(waiting[0]):
            choice = heapq.heappop(waiting)
            for split in choice.found.split():
                least = max(choice.least, self._in_any_order([ways[0] for ways in split.needs]))
                heapq.heappush(waiting, _Choice(least, next(tickets), split))
        return waiting[0].least if waiting else self.enough

    def _worth_splitting(self, choice: _Choice) -> bool:
        return choice.least < self.enough and bool(choice.found.loose) and self.effort > 0

    def _in_any_order(self, stops: Sequence[Positions]) -> int:
        bound = TrailBound(stops, self.start, self.end)
        bound.tighten(self.enough, EFFORT_EACH)
        self.effort -= bound.tolls.spent
        if bound.least >= self.enough:
            return bound.least
        led = guided_order(bound.tolls, [True] * len(stops), WIDTH)
        return max(bound.least, led.least)
