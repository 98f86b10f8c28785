"""The load of a plan put into time: the best order by the clock, and how soon it could be done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from seqc.solver.load_time.load_clock import LoadClock
from seqc.solver.load_time.outset import Outset, outset_of
from seqc.solver.load_time.pace import MOST_PAIRS, Timer
from seqc.solver.load_time.quickest import QuickestSearch
from seqc.solver.load_time.reordered import try_orders
from seqc.solver.load_time.section_pace import SectionPace
from seqc.solver.load_time.trials import Trials
from seqc.solver.loading import Loading, LoadPass, passes_in
from seqc.solver.needs import LaneNeeds, Need
from seqc.solver.objective import Objective
from seqc.solver.plan import GridPlan, Pass
from seqc.solver.positions import UNKNOWN, Positions
from seqc.solver.sections.rows import rows_of
from seqc.solver.ways import Ways


@dataclass(frozen=True)
class TimedLoad:
    """The load of a plan, which has the fewest pulses, and a clock."""

    lane: LaneNeeds
    plan: GridPlan
    clock: LoadClock

    def best(self, end: Positions, objective: Objective) -> GridPlan:
        """The plan of the same load that is best by the clock and ends at some positions.

        Where ways of a need were left out, only orders near the plan's own are tried.
        """
        if not self.plan.passes:
            return replace(self.plan, objective=objective)
        end = end.within(self.lane.selector_mask)
        least_us = self.least_us if self._leaves_a_choice else 0
        if self.clock.load_us(self.plan)[0] == least_us or not self._whole:
            return self._reordered(end, objective, least_us)
        return self._quickest(end, objective, least_us)

    def _quickest(self, end: Positions, objective: Objective, least_us: int) -> GridPlan:
        """The best of all plans; no load takes less time than is given."""
        alike = {gate: self.clock.alike(gate) for gate in self._ways}
        least_pulses = self.plan.least_pulses - self.plan.gate_pulses
        passes = tuple(passes_in(self.plan))
        known = Loading(passes, self.plan.end, self.plan.least_passes, least_pulses)
        search = QuickestSearch(
            known, self._ways, alike, (self.plan.start, end), self._timer, objective
        )
        found = search.best(least_us)
        if found.least_load_us < found.load_us:
            least_us = least_us or self.least_us
        return replace(
            self.plan,
            passes=self._planned(found.loading.passes),
            end=found.loading.end,
            least_pulses=found.loading.least_pulses + self.plan.gate_pulses,
            objective=objective,
            load_us=found.load_us,
            least_load_us=max(least_us, found.least_load_us),
        )

    def _reordered(self, end: Positions, objective: Objective, least_us: int) -> GridPlan:
        """The plan with its passes in an order that is better, where one is found."""
        trials = Trials(tuple(passes_in(self.plan)), self._timer, objective)
        rows = rows_of(self._needs, end)
        if rows:
            try_orders(rows, (self.plan.start, end), trials, least_us)
        load_us, _ = trials.cost if objective is Objective.LOAD_TIME else trials.cost[::-1]
        return replace(
            self.plan,
            passes=self._planned(trials.best),
            end=trials.best[-1].positions,
            objective=objective,
            load_us=load_us,
            least_load_us=least_us,
        )

    def outset(self, end: Positions) -> Outset | SectionPace | None:
        """What the load takes at least from any start to an end; None where nothing is known."""
        if not self.plan.passes:
            return None
        if not self._whole or any(len(ways) ** 2 > MOST_PAIRS for ways in self._ways.values()):
            return self._section_pace
        return outset_of(self._ways, len(self.plan.passes), end, self._timer)

    @property
    def least_us(self) -> int:
        """A bound of the load time that holds however many ways the needs have."""
        return self._section_pace.least_us(self.plan.start) if self._section_pace else 0

    @cached_property
    def _section_pace(self) -> SectionPace | None:
        rows = rows_of(self._needs, UNKNOWN)
        return SectionPace(rows, self._timer) if rows else None

    @cached_property
    def _timer(self) -> Timer:
        """What the clock says of other passes for the plan's load."""

        def whole(passes: Sequence[LoadPass]) -> GridPlan:
            return replace(self.plan, passes=self._planned(passes))

        return Timer(
            lambda passes, useful_us: self.clock.load_us(whole(passes), useful_us),
            lambda passes: self.clock.throw_us(whole(passes)),
            lambda passes: self.clock.rest_us(whole(passes)),
            self.clock.alike_above,
        )

    def _planned(self, passes: Sequence[LoadPass]) -> tuple[Pass, ...]:
        return tuple(step.planned(self.lane.machine.actuators) for step in passes)

    @cached_property
    def _needs(self) -> dict[int, Need]:
        """The needs of the gates that are operated, by index in the order of the lane's groups."""
        gates = {gate.index for step in self.plan.passes for gate in step.operate}
        every = self.lane.needs(self.plan.glyph.kinds)
        return {gate: need for gate, need in every.items() if gate in gates}

    @cached_property
    def _ways(self) -> dict[int, Ways]:
        return {gate: need.ways for gate, need in self._needs.items()}

    @property
    def _whole(self) -> bool:
        """Whether no way was left out of the needs."""
        return all(need.whole for need in self._needs.values())

    @property
    def _leaves_a_choice(self) -> bool:
        """Whether some need comes in several ways."""
        every = self._needs.values()
        return any(len(ways) > 1 for need in every for ways in need.conditions)
