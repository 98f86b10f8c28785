"""How one grid can come from glyph to glyph: the plans that a programme is put together from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property, partial, reduce
from operator import or_

from seqc.machine.effort import Work
from seqc.machine.glyphs import Glyph
from seqc.solver.cost import Cost
from seqc.solver.frames import changed_needs, closed_plan, plan_glyph
from seqc.solver.joint.cost_bound import CostBound
from seqc.solver.joint.ends import ends_of
from seqc.solver.load_time.load_timer import LoadTimer
from seqc.solver.load_time.time_bound import TimeBound
from seqc.solver.load_time_search import LoadTimeSearch
from seqc.solver.needs import LaneNeeds, Need
from seqc.solver.objective import Objective
from seqc.solver.passes.held_karp import MOST_STOPS
from seqc.solver.passes.order import EndError
from seqc.solver.plan import GridPlan
from seqc.solver.positions import UNKNOWN, Positions
from seqc.solver.ways import Ways

BOUNDING_SHARE = 0.3
NEEDS = 12
"""It is as much work as a node to bound a plan of so many needs."""

LEAST_NODES = 300
"""So much work may go into a plan even where all is spent."""


@dataclass(frozen=True, slots=True)
class Show:
    """One glyph to be shown after another, or after nothing that is known."""

    glyph: Glyph
    shown: Glyph | None

    @property
    def key(self) -> tuple[int, int]:
        """Equal for shows of the same glyphs."""
        return id(self.glyph), id(self.shown)


@dataclass(frozen=True)
class ShowNeeds:
    """What a show asks for: the needs that differ, what of them is sure, and what they may want.

    `wanted` are the bit sets of the actuators that some way of a need wants at rest, and thrown.
    """

    needs: tuple[Need, ...]
    in_any_case: tuple[Ways, ...]
    wanted: tuple[int, int]

    @property
    def whole(self) -> bool:
        """Whether no way of any need was left out."""
        return all(need.whole for need in self.needs)

    @property
    def actuators(self) -> int:
        """The bit set of the actuators that its needs speak of."""
        return self.wanted[0] | self.wanted[1]

    @cached_property
    def natural_ends(self) -> tuple[Positions, ...] | None:
        """All ends of the load, None where they are too many or not all ways are known."""
        few = len(self.needs) <= MOST_STOPS
        return ends_of(self.in_any_case) if few and self.whole else None

    @cached_property
    def last_passes(self) -> tuple[Positions, ...]:
        """What must hold after the last pass: any of these; nothing certain where they are many."""
        ways = dict.fromkeys(way for several in self.in_any_case for way in several)
        return tuple(ways) if 0 < len(ways) <= MOST_STOPS else (UNKNOWN,)

    @property
    def ends(self) -> tuple[Positions, ...]:
        """The ends to be tried: all, or as far as the last pass sets them."""
        return self.natural_ends or self.last_passes


_Key = tuple[tuple[int, int], Positions, Positions]


@dataclass
class ShowPlans:
    """The plans of one grid from any start to any end, each made once.

    With a clock they are the best by the objective, without one they take the fewest pulses.
    """

    lane: LaneNeeds
    work: Work
    each: int
    """So many nodes may go into one plan."""
    clock: LoadTimer | None = None
    objective: Objective = Objective.PULSES
    bounding: Work = field(init=False)
    """The work for bounds of plans that aren't made yet."""
    made: int = 0
    spent: int = 0
    """How many plans have been sought so far, and how many nodes went into them."""
    _loads: dict[tuple[int, int], ShowNeeds] = field(default_factory=dict)
    _bounds: dict[tuple[int, int], CostBound] = field(default_factory=dict)
    _plans: dict[_Key, GridPlan | None] = field(default_factory=dict)
    _frugals: dict[_Key, GridPlan | None] = field(default_factory=dict)
    _lower_bounds: dict[_Key, Cost] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.bounding = self.work.part(BOUNDING_SHARE)

    def affords(self, plans: int) -> bool:
        """Whether the work that is left is enough for so many more plans like those so far."""
        return self.work.left * max(1, self.made) > plans * self.spent

    @property
    def _share(self) -> Work:
        """The work of one plan."""
        return self.work.at_least(max(LEAST_NODES, min(self.each, self.work.left)))

    def changes(self, show: Show) -> bool:
        """Whether anything is to be loaded."""
        return show.shown is None or show.glyph.kinds != show.shown.kinds

    def load(self, show: Show) -> ShowNeeds:
        """What a show asks for."""
        if show.key not in self._loads:
            sets = self.lane.ties.changed(show.glyph, show.shown)
            needs = list(changed_needs(self.lane, show.glyph, sets).values())
            self._loads[show.key] = ShowNeeds(
                tuple(dict.fromkeys(needs)),
                tuple(dict.fromkeys(need.in_any_case for need in needs)),
                self._wanted(needs),
            )
        return self._loads[show.key]

    def _wanted(self, needs: Sequence[Need]) -> tuple[int, int]:
        """What some way wants at rest and thrown; all where not even parts are known whole."""
        if not all(need.every for need in needs):
            return self.lane.selector_mask, self.lane.selector_mask
        ways = [way for need in needs for part in need.conditions for way in part]
        rest = reduce(or_, (way.known & ~way.thrown for way in ways), 0)
        return rest, reduce(or_, (way.thrown for way in ways), 0)

    def plan(self, show: Show, start: Positions, end: Positions) -> GridPlan | None:
        """The best plan of what changes, or None where it can't end so."""
        key = (show.key, start, end)
        if key not in self._plans:
            left = self.work.left
            plan = self._frugal(show, start, end)
            self._plans[key] = plan and self._timed(plan, end, show)
            self.made += 1
            self.spent += left - self.work.left
        return self._plans[key]

    def closing(self, show: Show, start: Positions, end: Positions) -> GridPlan:
        """The best plan; all of the grid is loaded where what changes can't bring the end about.

        Raises EndError where neither can.
        """
        plan = self.plan(show, start, end)
        if plan is None:
            whole = closed_plan(self.lane, show.glyph, None, start, end, self._share)
            plan = self._timed(whole, end)
        return plan

    def _timed(self, plan: GridPlan, end: Positions, show: Show | None = None) -> GridPlan:
        if self.clock is None:
            return plan
        known_us = self.lower_bound(show, plan.start, end).load_us if show else None
        load = LoadTimeSearch(self.lane, plan, self.clock, self._share, known_us)
        return load.best(end, self.objective)

    def closes(self, show: Show, end: Positions) -> bool:
        """Whether what changes alone can bring an end about."""
        return self._frugal(show, UNKNOWN, end) is not None

    def lower_bound(self, show: Show, start: Positions, end: Positions) -> Cost:
        """What a plan costs at least; start and end may be known in part.

        Where too much was bounded already, it is the same for all of them.
        """
        if self.bounding.over:
            start = end = UNKNOWN
        load = self.load(show)
        key = (show.key, start.within(load.actuators | end.known), end)
        if key not in self._lower_bounds:
            self.bounding.spend(1 + len(load.needs) // NEEDS)
            self._lower_bounds[key] = self.bound_of(show).lower_bound(*key[1:])
        return self._lower_bounds[key]

    def sharper(self, show: Show, start: Positions, end: Positions, lower_bound: Cost) -> Cost:
        """The least cost with the fewest pulses, which are sought in less time than a load time."""
        if self.clock is None:
            return lower_bound
        plan = self._frugal(show, start, end)
        return lower_bound if plan is None else lower_bound.with_pulses(plan.pulses_bound)

    def bound_of(self, show: Show) -> CostBound:
        """The bounds of a show."""
        if show.key not in self._bounds:
            plan = self._frugal(show, UNKNOWN, UNKNOWN)
            assert plan is not None
            time_bound_to = partial(self._time_bound, plan) if self.clock else None
            load = self.load(show)
            self._bounds[show.key] = CostBound(
                load.in_any_case, load.wanted, plan, time_bound_to, self.objective
            )
        return self._bounds[show.key]

    def _time_bound(self, plan: GridPlan, end: Positions) -> TimeBound | None:
        assert self.clock is not None
        return LoadTimeSearch(self.lane, plan, self.clock, self._share).time_bound(end)

    def _frugal(self, show: Show, start: Positions, end: Positions) -> GridPlan | None:
        """The plan with the fewest pulses, None where what changes can't end so."""
        key = (show.key, start, end)
        if key not in self._frugals:
            try:
                plan = plan_glyph(self.lane, show.glyph, show.shown, start, end, self._share)
                self._frugals[key] = plan
            except EndError:
                self._frugals[key] = None
        return self._frugals[key]
