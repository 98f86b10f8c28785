"""The frames of one grid planned jointly, in a line or in a round.

Each frame can end in the positions of any of its last passes. Of a line the choice over all frames
is a shortest path through those positions; of a round it is the shortest round, sought from every
end of the first frame. Actuators that the first frame leaves open there stand as a later one wants.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import reduce

from seqc.solver.cost import NOTHING, Cost
from seqc.solver.joint.forced import forced_pulses
from seqc.solver.joint.line import LineSearch
from seqc.solver.joint.shows import Show, ShowPlans
from seqc.solver.plan import GridPlan
from seqc.solver.positions import UNKNOWN, Positions, bits

MOST_CUTS = 64


@dataclass(frozen=True)
class Chain:
    """Plans one after the other, and the least cost of any such plans.

    Of a round the cost leaves out the first plan, which comes before it.
    """

    plans: tuple[GridPlan, ...]
    cost: Cost
    lower_bound: Cost


@dataclass(frozen=True)
class JointSearch:
    """The search for one grid."""

    plans: ShowPlans

    def line(self, shows: Sequence[Show], start: Positions) -> Chain:
        """The best plans one after the other from the start."""
        way, lower_bound = LineSearch(self.plans, shows, start, None).best()
        return Chain(way.plans(), way.cost, self._raised(lower_bound, way.cost, shows, start))

    def round(self, shows: Sequence[Show], start: Positions) -> Chain:
        """The best plans of a round: `shows` has the first glyph, after the last one, once more.

        The last plan ends where the first one does. The cost of a round counts first, then that of
        the first load from the start.
        """
        cuts, every = self._cuts(shows)
        ranked, likely = self._ranked(cuts, shows[1:])
        if not every:
            ranked.append((ranked[0][0], UNKNOWN))
        best: tuple[Cost, Cost, tuple[GridPlan, ...]] | None = None
        bounds = []
        for number, (bound, cut) in enumerate(ranked):
            tired = number > 0 and not self.plans.affords(len(shows))
            if best is not None and (bound > best[0] or tired):
                bounds.append(bound)
                continue
            first = self.plans.plan(shows[0], start, cut)
            if first is None:
                continue
            bounds.append(bound)
            if best is not None and (bound, first.cost) >= best[:2]:
                continue
            search = likely
            if search.goal != first.end:
                search = LineSearch(self.plans, shows[1:], first.end, first.end)
            way, bounds[-1] = search.best()
            if best is None or (way.cost, first.cost) < best[:2]:
                best = way.cost, first.cost, (first, *way.plans())
        assert best is not None
        lower_bound = min(bounds) if every else min(bound for bound, _ in ranked)
        if self._alike(shows):
            lower_bound = self._raised(lower_bound, best[0], shows[1:], None)
        return Chain(best[2], best[0], lower_bound)

    def _raised(
        self, lower_bound: Cost, cost: Cost, shows: Sequence[Show], start: Positions | None
    ) -> Cost:
        """The least cost, where it isn't reached, with the pulses that are forced in any case."""
        if cost == lower_bound:
            return lower_bound
        forced = forced_pulses([self.plans.bound_of(show) for show in shows], start)
        return lower_bound.with_pulses(forced)

    def _alike(self, shows: Sequence[Show]) -> bool:
        """Whether the last load of a round is the first one, which is a whole one."""
        first, last = self.plans.load(shows[0]), self.plans.load(shows[-1])
        return set(first.needs) == set(last.needs)

    def _ranked(
        self, cuts: Sequence[Positions], shows: Sequence[Show]
    ) -> tuple[list[tuple[Cost, Positions]], LineSearch]:
        """The cuts with what a round costs at least that comes by them, the least first.

        The search from the first of them is kept; all together would take much memory. Those that
        the work for bounds isn't enough for come last, with a bound that holds for any.
        """
        likely: LineSearch | None = None
        found, others = [], []
        reserve = self.plans.work.left // 2
        for cut in cuts:
            tired = self.plans.bounding.over or self.plans.work.left < reserve
            if likely is not None and tired:
                others.append((self._anyway(shows), cut))
                continue
            search = LineSearch(self.plans, shows, cut, cut)
            found.append((search.lower_bound, cut))
            if likely is None or search.lower_bound < likely.lower_bound:
                likely = search
        assert likely is not None
        return sorted(found, key=lambda each: each[0]) + others, likely

    def _anyway(self, shows: Sequence[Show]) -> Cost:
        """What shows cost at least, wherever they begin and end."""
        each = (self.plans.lower_bound(show, UNKNOWN, UNKNOWN) for show in shows)
        return reduce(Cost.also, each, NOTHING)

    def _cuts(self, shows: Sequence[Show]) -> tuple[list[Positions], bool]:
        """The positions in which the first load can end and a round close, and if those are all.

        Where the last load of the round isn't the first one, any of the last passes of the first
        may close it; the bound of what are not all holds for the rest as well.
        """
        first, alike = self.plans.load(shows[0]), self._alike(shows)
        ends = first.ends if alike else first.last_passes
        all_ends = first.natural_ends is not None if alike else ends != (UNKNOWN,)
        once = self._once(shows[1:])
        if self.plans.clock is None:
            once = once.then(self._settled(shows))
        spoken = 0
        for show in shows[1:]:
            spoken |= self.plans.load(show).actuators
        found: list[Positions] = []
        for end in ends:
            either = spoken & ~once.known & ~end.known
            if not all_ends or len(found) + (1 << either.bit_count()) > MOST_CUTS:
                return list(ends), False
            found += (once.then(end).then(choice) for choice in _choices(either))
        return list(dict.fromkeys(found)), True

    def _once(self, shows: Sequence[Show]) -> Positions:
        """The positions that loads want and of which they never want the other."""
        rest = thrown = 0
        for load in {show.key: self.plans.load(show) for show in shows}.values():
            rest |= load.wanted[0]
            thrown |= load.wanted[1]
        return Positions(rest ^ thrown, thrown & ~rest)

    def _settled(self, shows: Sequence[Show]) -> Positions:
        """Where the last load before the closing one that speaks of them leaves actuators for sure.

        Those of which the first and the closing load speak are left out. A pulse that moves one
        again before the round closes is never worth it, but may make up for time.
        """
        seen = self.plans.load(shows[0]).actuators | self.plans.load(shows[-1]).actuators
        settled = UNKNOWN
        for show in reversed(shows[1:-1]):
            settled = settled.then(self.plans.bound_of(show).pure.within(~seen))
            seen |= self.plans.load(show).actuators
        return settled


def _choices(actuators: int) -> Iterator[Positions]:
    """Every way to set some actuators."""
    for thrown in itertools.product((0, 1), repeat=actuators.bit_count()):
        pairs = zip(bits(actuators), thrown, strict=True)
        yield Positions(actuators, sum(at << index for index, at in pairs))
