"""The scheduling core finds and proves the published optima of classic job shops.

A machine of a shop is a supply that bears one pulse at a time; an operation is a pulse that starts
when the one before it in its job is over.
"""

from __future__ import annotations

import pytest
from reference.schedule_jobshops import LEAST, SHOPS, Job

from seqc.schedule.problem import Arc, Problem, Task
from seqc.schedule.search import solve

NODES = 40_000


def problem_of(jobs: tuple[Job, ...]) -> Problem:
    tasks: list[Task] = []
    arcs: list[Arc] = []
    lasts: list[int] = []
    for job in jobs:
        for rank, (machine, length) in enumerate(job):
            if rank:
                before = len(tasks) - 1
                arcs.append(Arc(before, len(tasks), tasks[before].length_us, "job"))
            tasks.append(Task(f"operation {len(tasks)}", length, machine, 1))
        lasts.append(len(tasks) - 1)
    arcs += [Arc(last, len(tasks), tasks[last].length_us, "job") for last in lasts]
    machines = 1 + max(machine for job in jobs for machine, _ in job)
    return Problem([*tasks, Task("all done")], arcs, [1] * machines)


@pytest.mark.quick(2)
@pytest.mark.parametrize("name", LEAST)
def test_the_published_optimum_is_found_and_proven(name: str) -> None:
    problem = problem_of(SHOPS[name])
    answer = solve(problem, nodes=NODES)
    assert answer.value_us == answer.bound_us == LEAST[name]
    for arc in problem.arcs:
        assert answer.starts[arc.after] >= answer.starts[arc.before] + arc.lag_us
    for one, first in enumerate(problem.tasks):
        for two, second in enumerate(problem.tasks[:one]):
            if first.supply == second.supply and first.length_us and second.length_us:
                apart = answer.starts[one] - answer.starts[two]
                assert apart >= second.length_us or -apart >= first.length_us
