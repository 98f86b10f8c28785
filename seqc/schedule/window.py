"""Two ticks together: whether they could keep a cadence that each keeps by itself."""

from __future__ import annotations

from dataclasses import dataclass

from seqc.machine.effort import Work
from seqc.schedule.builder import Builder
from seqc.schedule.shortest import reach_first
from seqc.schedule.tick import see_first
from seqc.schedule.topology import Topology
from seqc.solver.plan import FramePlan


@dataclass(frozen=True)
class Window:
    """A change, and the loads of the two frames after it; the second is None after the last."""

    topology: Topology
    change: FramePlan
    load: FramePlan
    following: FramePlan | None

    def excludes(self, cadence_us: int, nodes: int, work: Work) -> bool:
        """Whether it is proven that both ticks together can't keep a cadence.

        What is looked at is spent of some work.
        Whatever came before is left out, and any pulse of a change may be its first.
        """
        builder = Builder(self.topology)
        change = builder.change(self.change)
        loaded = builder.load(self.load)
        see_first(builder, change, loaded)
        beat = builder.event("next change")
        builder.arc(loaded, beat, 0, "load complete")
        builder.fixed[beat] = cadence_us
        first = len(builder.tasks)
        change = builder.change(self.load)
        done = builder.event("done") if self.following is None else builder.load(self.following)
        for task in range(first, len(builder.tasks)):
            builder.arc(beat, task, 0, "next change")
        see_first(builder, change, done)
        goals: tuple[int, ...] = (done,)
        if self.following is not None:
            goals = builder.change(self.following, done).roots or goals
        limit_us = 2 * cadence_us + 1
        found = reach_first(builder.problem(), goals, (), nodes, limit_us)
        work.spend(found.nodes)
        return found.bound_us >= limit_us
