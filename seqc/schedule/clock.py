"""How long the load of one grid takes by itself, for the solver to choose between orders."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import replace

from seqc.machine.effort import NORMAL, Work
from seqc.machine.glyphs import Frame
from seqc.machine.model import Machine
from seqc.schedule.builder import Builder
from seqc.schedule.prefix_cache import PrefixCache
from seqc.schedule.problem import Problem
from seqc.schedule.search import PART
from seqc.schedule.shortest import first_bound_us, reach, reach_first
from seqc.schedule.symmetry import Symmetry
from seqc.schedule.topology import Topology
from seqc.solver.load_time.load_timer import FOREVER
from seqc.solver.plan import FramePlan, GridPlan, Pass


class ScheduleClock:
    """The solver's load clock, by the schedule itself; loads that are alike are timed once."""

    def __init__(self, machine: Machine) -> None:
        self.topology = Topology(machine)
        self.symmetry = Symmetry(self.topology)
        self._prefixes = PrefixCache(self.topology)
        self._loads: dict[Hashable, tuple[int, int, int]] = {}
        self._throws: dict[Hashable, int] = {}
        self._quick_throws: dict[Hashable, int] = {}

    def load_us(
        self, plan: GridPlan, work: Work | None = None, useful_us: int = FOREVER
    ) -> tuple[int, int]:
        """The load time of a grid by itself and the least it could be.

        It is the change time where the passes are the change, since the lane has no transfer gate.
        """
        work = work or Work(NORMAL.plan_nodes)
        work.spend(1)
        key = self.symmetry.of(plan)
        load_us, least_us, sought_us = self._loads.get(key, (FOREVER, 0, 0))
        if least_us < min(load_us, useful_us) and sought_us < useful_us:
            found = reach(*self._load(plan), nodes=_nodes(work), useful_us=useful_us)
            work.spend(found.nodes)
            # A search that goes further may still find less than one that was held closer.
            load_us, least_us = min(load_us, found.value_us), max(least_us, found.bound_us)
            self._loads[key] = load_us, least_us, useful_us
        return load_us, least_us

    def _load(self, plan: GridPlan) -> tuple[Problem, int]:
        """The load of a grid, or the change where that loads it, and the event of its end."""
        if self.topology.lane_of_grid(plan.glyph.grid).transfers:
            builder, throws = self._prefixes.after(plan.passes)
            goal = builder.loaded([(plan, throws)])
        else:
            builder = Builder(self.topology)
            goal = builder.change(FramePlan(Frame((plan.glyph,)), (plan,))).seen
        return builder.problem(), goal

    def throw_us(self, plan: GridPlan, work: Work) -> int:
        """The least time until the first gate of the last pass of some passes is thrown."""
        work.spend(1)
        key = self.symmetry.of(plan)
        if key in self._throws:
            return self._throws[key]
        if work.over:
            return self._quick_throw_us(key, plan)
        found = reach_first(*self._throw(plan), nodes=_nodes(work))
        work.spend(found.nodes)
        self._throws[key] = found.bound_us
        return found.bound_us

    def _quick_throw_us(self, key: Hashable, plan: GridPlan) -> int:
        """The same by a weaker bound, which takes hardly any work."""
        if key not in self._quick_throws:
            self._quick_throws[key] = first_bound_us(*self._throw(plan))
        return self._quick_throws[key]

    def _throw(self, plan: GridPlan) -> tuple[Problem, list[int]]:
        """Some passes, and the throws of the last one."""
        builder, throws = self._prefixes.after(plan.passes)
        last = throws[-len(plan.passes[-1].operate) :]
        return builder.problem(), [throw for throw, _ in last]

    def rest_us(self, plan: GridPlan, work: Work) -> int:
        """The least time from the first throw of the last pass until its items are loaded."""
        gates = plan.passes[-1].operate
        cells = frozenset(cell for gate in gates for cell in gate.cells)
        stages = ([one for one in stage if one.cell_set & cells] for stage in plan.transfers)
        alone = replace(
            plan,
            passes=(Pass((), gates),),
            dumps=(),
            transfers=tuple(tuple(stage) for stage in stages if stage),
        )
        if work.over:
            problem, goal = self._load(alone)
            return first_bound_us(problem, [goal])
        return self.load_us(alone, work)[1]

    def alike(self, gate: int) -> Hashable:
        """Equal for metering gates that nothing tells apart but what they need."""
        return self.symmetry.of_gate(gate)


def _nodes(work: Work) -> int:
    """The first budget of a search for a schedule."""
    return max(0, min(NORMAL.schedule_nodes, work.left // PART))
