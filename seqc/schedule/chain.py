"""What a time is made of: the chain of waits from the goal back to the start, by name."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from seqc.schedule.problem import NONE, Problem

PER_CENT = 100


@dataclass(frozen=True, slots=True)
class Link:
    """`task` starts at `to_us` because of `cause`, which began at `from_us` with `after`.

    A link is shorter than nothing where a gate may be thrown before another is back at rest,
    since its item takes so long to fall.
    """

    task: str
    after: str
    cause: str
    from_us: int
    to_us: int

    @property
    def length_us(self) -> int:
        """How long the cause lasted."""
        return self.to_us - self.from_us

    def __str__(self) -> str:
        return f"{self.task}: {self.cause}, {self.length_us} us after {self.after}"


def critical_chain(problem: Problem, starts: Mapping[int, int], goal: int) -> tuple[Link, ...]:
    """The links from the first task to the goal, each as tight as it can be."""
    links: list[Link] = []
    task = goal
    visited: set[int] = set()
    while task not in visited and task not in problem.fixed:
        visited.add(task)
        link = _binding(problem, starts, task)
        if link is None:
            break
        before, cause = link
        names = problem.tasks[task].name, problem.tasks[before].name
        links.append(Link(*names, cause, starts[before], starts[task]))
        task = before
    return tuple(reversed(links))


def _binding(problem: Problem, starts: Mapping[int, int], task: int) -> tuple[int, str] | None:
    """What kept a task from starting sooner: an arc, its channel or its supply."""
    at_us = starts[task]
    for arc in problem.arcs:
        if arc.after == task and arc.before in starts and starts[arc.before] + arc.lag_us == at_us:
            return arc.before, arc.cause
    facts = problem.tasks[task]
    rivals = [other for other in sorted(starts) if other != task and starts[other] < at_us]
    for other in rivals:
        shared = problem.tasks[other].channel == facts.channel != NONE
        if shared and starts[other] + (problem.apart_us(other, task) or 0) == at_us:
            return other, problem.channels[facts.channel].name
    for other in rivals:
        shared = problem.tasks[other].supply == facts.supply != NONE
        if shared and starts[other] + problem.tasks[other].length_us == at_us:
            return other, f"supply limit of {problem.supplies[facts.supply]}"
    return _companion(problem, starts, task)


def _companion(problem: Problem, starts: Mapping[int, int], task: int) -> tuple[int, str] | None:
    """The task that this one was put off for, so that both could coincide."""
    channel = problem.tasks[task].channel
    if channel == NONE:
        return None
    for other in sorted(starts):
        alike = other < task and starts[other] == starts[task]
        shared = alike and problem.tasks[other].channel == channel
        if shared and problem.may_coincide(other, task):
            return other, problem.channels[channel].name
    return None


def shares(links: Iterable[Link]) -> tuple[tuple[str, int], ...]:
    """The time of each cause in microseconds, longest first."""
    found: dict[str, int] = {}
    for link in links:
        found[link.cause] = found.get(link.cause, 0) + link.length_us
    return tuple(sorted(found.items(), key=lambda share: (-share[1], share[0])))


def summary(links: Iterable[Link], whole_us: int) -> str:
    """One line: each cause and its part of the whole in per cent."""
    parts = [
        f"{cause} {round(PER_CENT * time_us / whole_us)} %"
        for cause, time_us in shares(links)
        if time_us and whole_us
    ]
    return ", ".join(parts)
