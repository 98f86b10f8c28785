"""The load of a plan put into time: the best order by the clock, and how soon it could be done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from seqc.machine.effort import Work
from seqc.solver.load_time.load_timer import LoadTimer
from seqc.solver.load_time.quickest import QuickestSearch
from seqc.solver.load_time.stop_bound import Timer
from seqc.solver.load_time.time_bound import TimeBound, time_bound_of
from seqc.solver.loading import Loading, PassStep, passes_in
from seqc.solver.needs import LaneNeeds, Need
from seqc.solver.objective import Objective
from seqc.solver.plan import GridPlan, Pass
from seqc.solver.positions import UNKNOWN, Positions


@dataclass(frozen=True)
class LoadTimeSearch:
    """The load of a plan, which has the fewest pulses, and a clock."""

    lane: LaneNeeds
    plan: GridPlan
    clock: LoadTimer
    work: Work
    known_us: int | None = None
    """No load takes less time, if that is known already."""

    def best(self, end: Positions, objective: Objective) -> GridPlan:
        """The plan of the same load that is best by the clock and ends at some positions."""
        if not self.plan.passes:
            return replace(self.plan, objective=objective)
        end = end.within(self.lane.selector_mask)
        ways = {gate: need.ways for gate, need in self._needs.items()}
        alike = {gate: self.clock.alike(gate) for gate in ways}
        pulses_bound = self.plan.pulses_bound - self.plan.gate_pulses
        passes = tuple(passes_in(self.plan))
        known = Loading(passes, self.plan.end, self.plan.passes_bound, pulses_bound)
        search = QuickestSearch(known, ways, alike, (self.plan.start, end), self._timer, objective)
        found = search.best()
        if not self._whole:
            # The search has seen only the ways that were chosen.
            loading = replace(found.loading, pulses_bound=pulses_bound)
            found = replace(found, loading=loading, load_bound_us=0)
        least_us = found.load_bound_us
        if least_us < found.load_us:
            least_us = max(least_us, self._known_us)
        return replace(
            self.plan,
            passes=self._planned(found.loading.passes),
            end=found.loading.end,
            pulses_bound=found.loading.pulses_bound + self.plan.gate_pulses,
            objective=objective,
            load_us=found.load_us,
            load_bound_us=least_us,
        )

    @property
    def _known_us(self) -> int:
        if self.known_us is not None:
            return self.known_us
        time_bound = self.time_bound(UNKNOWN)
        return time_bound.lower_bound(self.plan.start)[0] if time_bound else 0

    def time_bound(self, end: Positions) -> TimeBound | None:
        """What the load takes at least from any start to an end; None where nothing is known."""
        if not self.plan.passes:
            return None
        wanted = {gate: need.bounding for gate, need in self._needs.items()}
        return time_bound_of(wanted, len(self.plan.passes), end, self._timer)

    @cached_property
    def _timer(self) -> Timer:
        """What the clock says of other passes for the plan's load."""

        def whole(passes: Sequence[PassStep]) -> GridPlan:
            return replace(self.plan, passes=self._planned(passes))

        return Timer(
            lambda passes, useful_us: self.clock.load_us(whole(passes), self.work, useful_us),
            lambda passes: self.clock.throw_us(whole(passes), self.work),
            lambda passes: self.clock.rest_us(whole(passes), self.work),
            self.work,
        )

    def _planned(self, passes: Sequence[PassStep]) -> tuple[Pass, ...]:
        return tuple(step.planned(self.lane.machine.actuators) for step in passes)

    @cached_property
    def _needs(self) -> dict[int, Need]:
        """The needs of the gates that are operated, by index in the order of the lane's groups."""
        gates = {gate.index for step in self.plan.passes for gate in step.operate}
        every = self.lane.needs(self.plan.glyph.kinds)
        return {gate: need for gate, need in every.items() if gate in gates}

    @property
    def _whole(self) -> bool:
        """Whether no way was left out of the needs."""
        return all(need.whole for need in self._needs.values())
