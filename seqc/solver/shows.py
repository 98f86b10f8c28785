"""How one grid can come from glyph to glyph: the plans that a programme is put together from."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import reduce
from operator import or_

from seqc.machine.glyphs import Glyph
from seqc.solver.cost import NOTHING, Cost
from seqc.solver.frames import (
    changed_needs,
    closed_plan,
    least_cost,
    plan_glyph,
    timed_plan,
)
from seqc.solver.load_time.load_clock import LoadClock
from seqc.solver.needs import LaneNeeds
from seqc.solver.passes.order import EndError
from seqc.solver.plan import GridPlan
from seqc.solver.positions import UNKNOWN, Positions
from seqc.solver.ways import Ways, actuators_in, complete

MOST_ENDS = 16
FEW_ENDS = 6
"""So many ends where a plan takes longer to make: with a clock, or with open needs."""


@dataclass(frozen=True, slots=True)
class Show:
    """One glyph to be shown after another, or after nothing that is known."""

    glyph: Glyph
    shown: Glyph | None


_Key = tuple[int, int, Positions, Positions]


@dataclass
class ShowPlans:
    """The plans of one grid from any start to any end, each made once.

    With a clock they are loaded as soon as can be, without one they take the fewest pulses.
    """

    lane: LaneNeeds
    clock: LoadClock | None = None
    exact: bool = True
    """Whether all ends of every show have been tried so far, and every plan is proven best."""
    _ends: dict[tuple[int, int], tuple[Positions, ...]] = field(default_factory=dict)
    _plans: dict[_Key, GridPlan | None] = field(default_factory=dict)
    _frugals: dict[_Key, GridPlan | None] = field(default_factory=dict)
    _leasts: dict[_Key, Cost] = field(default_factory=dict)

    def changes(self, show: Show) -> bool:
        """Whether anything is to be loaded."""
        return show.shown is None or show.glyph.kinds != show.shown.kinds

    def ends(self, show: Show) -> tuple[Positions, ...]:
        """The positions in which a load can end, as far as its last pass sets them."""
        key = (id(show.glyph), id(show.shown))
        if key not in self._ends:
            self._ends[key] = self._ends_of(show)
        return self._ends[key]

    def _ends_of(self, show: Show) -> tuple[Positions, ...]:
        needs = self._needs(show)
        ends = dict.fromkeys(way for ways in needs for way in ways)
        full = complete(needs)
        few = len(ends) <= (MOST_ENDS if full and self.clock is None else FEW_ENDS)
        self.exact = self.exact and few and full
        return tuple(ends) if ends and few else (UNKNOWN,)

    def plan(self, show: Show, start: Positions, end: Positions) -> GridPlan | None:
        """The best plan of what changes, or None where it can't end so."""
        key = (id(show.glyph), id(show.shown), start, end)
        if key not in self._plans:
            plan = self._frugal(show, start, end)
            self._plans[key] = plan and self._timed(plan, end)
        return self._plans[key]

    def closing(self, show: Show, start: Positions, end: Positions) -> GridPlan:
        """The best plan; all of the grid is loaded where what changes can't bring the end about.

        Raises EndError where neither can.
        """
        plan = self.plan(show, start, end)
        if plan is None:
            plan = self._timed(closed_plan(self.lane, show.glyph, None, start, end), end)
        return plan

    def _timed(self, plan: GridPlan, end: Positions) -> GridPlan:
        if self.clock is not None:
            plan = timed_plan(self.lane, plan, end, self.clock)
        self.exact = self.exact and plan.proven
        return plan

    def least(self, show: Show, start: Positions, end: Positions) -> Cost:
        """What a plan costs at least from a start that may be known in part."""
        key = (id(show.glyph), id(show.shown), start, end)
        if key not in self._leasts:
            self._leasts[key] = self._least(show, start, end)
        return self._leasts[key]

    def _least(self, show: Show, start: Positions, end: Positions) -> Cost:
        if not self._speaks_of_all(show, start):
            return self._least_anywhere(show, end)
        plan = self._frugal(show, start, end)
        if plan is None:
            return NOTHING
        if self.clock is None:
            return Cost(pulses=plan.least_pulses)
        return least_cost(self.lane, plan, end, self.clock, anywhere=False)

    def _speaks_of_all(self, show: Show, start: Positions) -> bool:
        """Whether every need speaks of the same actuators, and all of these are known."""
        needs = self._needs(show)
        return complete(needs) and not any(actuators_in(ways) & ~start.known for ways in needs)

    def _needs(self, show: Show) -> list[Ways]:
        sets = self.lane.ties.changed(show.glyph, show.shown)
        needs = changed_needs(self.lane, show.glyph, sets).values()
        return list(dict.fromkeys(need.ways for need in needs))

    def _least_anywhere(self, show: Show, end: Positions) -> Cost:
        """What a plan costs at least from any start.

        Where no position is known each actuator takes a pulse when it is first needed; from any
        other start it may be spared that one, and no more.
        """
        plan = self._frugal(show, UNKNOWN, UNKNOWN)
        assert plan is not None
        if self.clock is not None:
            return least_cost(self.lane, plan, end, self.clock, anywhere=True)
        spared = reduce(or_, map(actuators_in, self._needs(show)), 0).bit_count()
        return Cost(pulses=max(plan.gate_pulses, plan.least_pulses - spared))

    def _frugal(self, show: Show, start: Positions, end: Positions) -> GridPlan | None:
        """The plan with the fewest pulses, None where what changes can't end so."""
        key = (id(show.glyph), id(show.shown), start, end)
        if key not in self._frugals:
            try:
                plan = plan_glyph(self.lane, show.glyph, show.shown, start, end)
                self._frugals[key] = plan
            except EndError:
                self._frugals[key] = None
        return self._frugals[key]
