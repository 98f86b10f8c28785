"""One tick of a programme: a change, and the load of the next frame while this one is seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from seqc.machine.effort import Work
from seqc.schedule.builder import Builder, Change
from seqc.schedule.chain import Link, critical_chain
from seqc.schedule.effects import quiet_us
from seqc.schedule.problem import Problem
from seqc.schedule.pulses import Pulse
from seqc.schedule.search import NODES
from seqc.schedule.shortest import Found, fill_in, pulses_of, reach, reach_first, told_apart
from seqc.schedule.topology import Topology
from seqc.solver.plan import FramePlan

ROOTS = 8
"""How many pulses are tried as the first of a change."""


@dataclass(frozen=True, slots=True)
class Tick:
    """Pulses counted from the start of the change.

    The frame is seen at rest from `seen_us` on. The next change may start `period_us` after this
    one, and in no schedule sooner than `bound_us`; `opener` is the actuator whose pulse starts it
    then, None if nothing moves. After the last frame there is nothing to load: the period is then
    what it takes to see the frame. From `quiet_us` on none of the pulses bounds anything.
    """

    pulses: tuple[Pulse, ...]
    seen_us: int
    period_us: int
    bound_us: int
    opener: int | None
    links: tuple[Link, ...]
    quiet_us: int

    @property
    def proven(self) -> bool:
        """Whether no schedule has a shorter period."""
        return self.period_us == self.bound_us

    @property
    def ready_us(self) -> int:
        """When the next change may start from a quiet machine."""
        return max(self.period_us, self.quiet_us)


@dataclass(frozen=True)
class Setting:
    """What a tick is to do: the pulses before it that still count, what to change and to load.

    `opener` is the actuator whose pulse starts the change, None if any may. The next change
    starts `beat_us` after this one if it can, and a period of `enough_us` is short enough.
    """

    topology: Topology
    past: Sequence[Pulse]
    change: FramePlan
    load: FramePlan | None
    opener: int | None = None
    beat_us: int = 0
    enough_us: int = 0


def schedule_tick(setting: Setting, nodes: int = NODES, work: Work | None = None) -> Tick:
    """The schedule of a tick with the shortest period; the nodes looked at are spent of `work`."""
    work = work or Work(nodes)
    builder = Builder(setting.topology, setting.past)
    change = builder.change(setting.change)
    if setting.opener is not None:
        builder.fixed[_root_of(builder, change, setting.opener)] = 0
    if setting.load is None:
        return _last_tick(builder, change, nodes, setting.enough_us, work)
    loaded = builder.load(setting.load)
    see_first(builder, change, loaded)
    count = len(builder.tasks)
    goals = builder.change(setting.load, loaded).roots or (loaded,)
    problem = builder.problem()
    found = _with_opener(problem, change, goals, nodes, setting.enough_us)
    work.spend(found.nodes)
    at_us = max(found.value_us, setting.beat_us)
    keep = [*range(count), *([found.goal] if found.goal >= count else [])]
    given = {**found.starts, found.goal: at_us}
    number = {task: rank for rank, task in enumerate(keep)}
    known = {number[task]: start for task, start in given.items()}
    starts = fill_in(problem.part(keep), known)
    pulses = pulses_of(builder, dict(enumerate(starts[:count])))
    return Tick(
        pulses,
        starts[change.seen],
        found.value_us,
        found.bound_us,
        builder.pulses[found.goal][0].index if found.goal in builder.pulses else None,
        critical_chain(problem, found.starts, found.goal),
        quiet_us(setting.topology, pulses),
    )


def _root_of(builder: Builder, change: Change, opener: int) -> int:
    return next(root for root in change.roots if builder.pulses[root][0].index == opener)


def _last_tick(builder: Builder, change: Change, nodes: int, enough_us: int, work: Work) -> Tick:
    """Nothing is to be loaded, but the frame is to be seen as soon as any other."""
    done = builder.event("done")
    see_first(builder, change, done)
    problem = builder.problem()
    found = reach(problem, done, (), nodes, enough_us=enough_us)
    work.spend(found.nodes)
    starts = dict(enumerate(fill_in(problem, found.starts)))
    links = critical_chain(problem, found.starts, found.goal)
    pulses = pulses_of(builder, starts)
    quiet = quiet_us(builder.topology, pulses)
    seen_us = starts[change.seen]
    return Tick(pulses, seen_us, found.value_us, found.bound_us, None, links, quiet)


def see_first(builder: Builder, change: Change, next_change: int) -> None:
    """What is seen lies still before the first output of the next change, which leads its pulse."""
    if change.roots:
        durations = builder.topology.durations
        lag_us = durations.lead_us + durations.drift_us
        builder.arc(change.seen, next_change, lag_us, "last frame seen")


def _with_opener(
    problem: Problem, change: Change, goals: Sequence[int], nodes: int, enough_us: int
) -> Found:
    """The shortest period among schedules in which a pulse of the change starts at 0.

    Where the shortest of all schedules does without, each kind of pulse is tried as the first; if
    there is but one kind, and none is given as the first, at once.
    """
    first = min(change.roots, default=0)
    favoured = range(first, change.seen)
    openers = told_apart(problem, change.roots)
    if len(openers) == 1 and problem.fixed.keys().isdisjoint(change.roots):
        opened = replace(problem, fixed={**problem.fixed, openers[0]: 0})
        return reach_first(opened, goals, favoured, nodes, enough_us=enough_us)
    found = reach_first(problem, goals, favoured, nodes, enough_us=enough_us)
    if not change.roots or any(found.starts.get(root) == 0 for root in change.roots):
        return found
    share = nodes // min(len(openers), ROOTS)
    tried = [
        reach_first(opened, goals, favoured, share, enough_us=enough_us)
        for root in openers[:ROOTS]
        for opened in [replace(problem, fixed={**problem.fixed, root: 0})]
    ]
    best = min(tried, key=lambda one: one.value_us)
    least = min(one.bound_us for one in tried) if len(openers) <= ROOTS else found.bound_us
    looked_at = found.nodes + sum(one.nodes for one in tried)
    return replace(best, bound_us=max(found.bound_us, least), nodes=looked_at)
