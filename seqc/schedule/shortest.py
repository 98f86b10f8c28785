"""From a builder's tasks to pulses: the goal as soon as can be, then everything else."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from seqc.schedule.bounds import arc_heads
from seqc.schedule.builder import Builder
from seqc.schedule.placement import place_all
from seqc.schedule.problem import Problem
from seqc.schedule.pulses import Pulse, in_order
from seqc.schedule.search import NODES, Answer, solve
from seqc.solver.load_time.load_timer import FOREVER


@dataclass(frozen=True, slots=True)
class Found:
    """When the goal is reached, the least that could be, and the starts of all that leads to it.

    So many nodes were looked at for it.
    """

    goal: int
    value_us: int
    bound_us: int
    starts: Mapping[int, int]
    nodes: int


def reach(
    problem: Problem,
    goal: int,
    favoured: Collection[int] = (),
    nodes: int = NODES,
    useful_us: int = FOREVER,
    enough_us: int = 0,
) -> Found:
    """Start one task as soon as can be; among equals, `favoured` tasks go first.

    Only a start sooner than `useful_us` is searched for, and one at `enough_us` is good enough.
    """
    keep = sorted({*problem.leading_to(goal), *problem.fixed})
    wanted = {rank for rank, task in enumerate(keep) if task in favoured}
    ranks = (lambda task, earliest: (task not in wanted, earliest),) if wanted else ()
    answer: Answer = solve(problem.part(keep), ranks, nodes, useful_us, enough_us)
    starts = dict(zip(keep, answer.starts, strict=True))
    return Found(goal, answer.value_us, answer.bound_us, starts, answer.nodes)


def reach_first(
    problem: Problem,
    goals: Sequence[int],
    favoured: Collection[int] = (),
    nodes: int = NODES,
    useful_us: int = FOREVER,
    enough_us: int = 0,
) -> Found:
    """Start any one of several tasks as soon as can be; they share the nodes."""
    apart = told_apart(problem, goals)
    share = nodes // len(apart)
    tried = [reach(problem, goal, favoured, share, useful_us, enough_us) for goal in apart]
    best = min(tried, key=lambda found: found.value_us)
    bound_us, nodes = min(found.bound_us for found in tried), sum(found.nodes for found in tried)
    return replace(best, bound_us=bound_us, nodes=nodes)


def first_bound_us(problem: Problem, goals: Sequence[int]) -> int:
    """A lower bound, quickly found, of the start of any one of several tasks."""
    head = arc_heads(problem)
    return min(head[goal] for goal in goals)


def told_apart(problem: Problem, goals: Sequence[int]) -> list[int]:
    """The goals without those that are bound just as another is."""
    seen: dict[object, int] = {}
    for goal in goals:
        facts = replace(problem.tasks[goal], name="")
        seen.setdefault((facts, tuple(sorted(problem.before[goal]))), goal)
    return list(seen.values())


def fill_in(problem: Problem, given: Mapping[int, int]) -> list[int]:
    """The starts of all tasks: those given, and the others as soon as they fit around them."""
    return place_all(problem, lambda _, earliest: (earliest,), given)


def pulses_of(builder: Builder, starts: Mapping[int, int]) -> tuple[Pulse, ...]:
    """The pulses with a start, without those of the past."""
    pulse = builder.topology.durations.pulse
    return in_order(
        pulse(actuator, position, starts[task])
        for task, (actuator, position) in builder.pulses.items()
        if task in starts and task >= builder.past
    )
