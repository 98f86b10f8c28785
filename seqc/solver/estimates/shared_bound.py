"""A bound for needs that share passes: choice by choice of the pass that a need goes to.

The choice with the least bound is always split next (A. Land and A. Doig, An automatic method of
solving discrete programming problems, 1960), so the least bound of all that are left holds for all.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from seqc.machine.effort import Work
from seqc.solver.estimates.beam import guided_order
from seqc.solver.estimates.history_bound import HistoryBound
from seqc.solver.passes.forced_sharing import Sharing, forced_sharing
from seqc.solver.positions import Positions

EACH_SHARE = 0.3
"""Such a share of the work that is left goes to one bound."""

WIDTH = 1_000
ANYWHERE = Sharing((), (), 0)
"""Needs of which nothing is known that they must share."""


@dataclass(frozen=True, slots=True, order=True)
class _Choice:
    """Some needs taken together, and a bound of what they take, with what it was found by."""

    lower_bound: int
    ticket: int
    found: Sharing = field(compare=False)
    bound: HistoryBound = field(compare=False)


@dataclass
class SharedBound:
    """Bounds of the pulses from a start through needs, in so many passes, to an end.

    They are sought until one is enough or the work is over.
    """

    start: Positions
    end: Positions
    enough: int
    work: Work
    _tickets: Iterator[int] = field(default_factory=itertools.count)

    def lower_bound(self, wanted: Sequence[Positions], count: int | None) -> int:
        """No plan of so many passes takes fewer pulses; with None for `count` no plan at all."""
        found = ANYWHERE if count is None else forced_sharing([(need,) for need in wanted], count)
        waiting = [self._choice(wanted, ANYWHERE if found.room else found, 0)]
        while waiting and self._worth_splitting(waiting[0]):
            choice = heapq.heappop(waiting)
            for split in choice.found.split():
                needs = [ways[0] for ways in split.needs]
                heapq.heappush(waiting, self._choice(needs, split, choice.lower_bound))
        return waiting[0].lower_bound if waiting else self.enough

    def _worth_splitting(self, choice: _Choice) -> bool:
        return choice.lower_bound < self.enough and bool(choice.found.loose) and not self.work.over

    def _choice(self, stops: Sequence[Positions], found: Sharing, known: int) -> _Choice:
        """A choice with the bound of its stops in any order, or the one that is known."""
        bound = HistoryBound(stops, self.start, self.end, self.work)
        bound.tighten(self.enough, self.work.part(EACH_SHARE))
        lower_bound = max(known, bound.lower_bound)
        if lower_bound < self.enough:
            lower_bound = max(
                lower_bound, guided_order(bound.penalties, [True] * len(stops), WIDTH).lower_bound
            )
        return _Choice(lower_bound, next(self._tickets), found, bound)
