"""The shortest schedule: a lower bound and quick schedules, then a search where they differ."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from seqc.machine.effort import NORMAL
from seqc.schedule.bounds import NEVER, arc_heads, arc_tails, heads, tails
from seqc.schedule.forward import Forward, applies
from seqc.schedule.orders import Orders
from seqc.schedule.placement import Rank, place_all
from seqc.schedule.problem import Problem
from seqc.solver.load_time.load_timer import FOREVER

NODES = NORMAL.schedule_nodes
"""How many nodes a first search looks at before it takes a bound for good enough."""

LONGER = 10
"""So many times the nodes are looked at where the first search has left a gap."""

PART = 2 * (1 + LONGER)
"""A search goes on for so many times its first budget in all, forward in time and over orders."""

BOUNDED = 2
"""To bound a task by what it waits for is as much work as to place so many."""

CROWD = 64
"""Among so many tasks more it takes a node more to place each."""

SMALL = 16
"""Up to so many tasks a node is small; of larger ones fewer are looked at."""

CHILDREN = 4
"""So many nodes of a search forward in time take as long as one over orders."""

NARROW = 50
"""A gap below this part of the time is closed at once."""

MANY = 60
"""A search over orders is hopeless for more tasks than these."""


@dataclass(frozen=True, slots=True)
class Answer:
    """The start of each task, that of the goal (the last task), and the least it could be.

    So many nodes were looked at for it; to place a task among a few is one.
    """

    starts: tuple[int, ...]
    value_us: int
    bound_us: int
    nodes: int

    @property
    def proven(self) -> bool:
        """Whether no schedule is shorter."""
        return self.value_us == self.bound_us


def solve(
    problem: Problem,
    ranks: Sequence[Rank] = (),
    nodes: int = NODES,
    useful_us: int = FOREVER,
    enough_us: int = 0,
) -> Answer:
    """The schedule in which the last task, the goal, starts soonest.

    Every task must bound the goal, except those whose start is given. Only a schedule shorter than
    `useful_us` is searched for; a bound that long is good enough. A schedule of `enough_us` is good
    enough, too.

    `ranks` are orders of preference among ready tasks, tried first; the first best one is kept
    unless the search finds a shorter schedule.
    """
    tail = arc_tails(problem)
    bound = _longest(arc_heads(problem), tail)
    best, spent = _placed(problem, (*ranks, *_usual_ranks(tail)), bound)
    if best[-1] > max(bound, enough_us):
        head = heads(problem)
        spent += BOUNDED * _placings(problem)
        bound = _longest(head, tail)
        if best[-1] > max(bound, enough_us):
            best, bound, more = _sharper(problem, head, best, nodes, (enough_us, useful_us))
            spent += more
    return Answer(tuple(best), best[-1], bound, spent)


def _placings(problem: Problem) -> int:
    """The nodes that it takes to place all tasks once; the more pulses, the more to keep clear."""
    tasks = len(problem.tasks)
    return tasks * (1 + tasks // CROWD)


def _longest(head: Sequence[int], tail: Sequence[int]) -> int:
    return max(map(sum, zip(head, tail, strict=True)), default=0)


def _placed(problem: Problem, ranks: Sequence[Rank], bound: int) -> tuple[list[int], int]:
    """The best schedule by some orders of preference, the first that reaches the bound.

    With it how many tasks were placed.
    """
    best: list[int] = []
    placed = 0
    for rank in ranks:
        placed += _placings(problem)
        starts = place_all(problem, rank)
        if not best or starts[-1] < best[-1]:
            best = starts
        if best[-1] == bound:
            break
    return best, placed


def _sharper(
    problem: Problem, head: Sequence[int], best: list[int], nodes: int, between_us: tuple[int, int]
) -> tuple[list[int], int, int]:
    """The same with the tails by what pulses must wait for each other, and at last a search."""
    enough_us, useful_us = between_us
    tail = _tails_to_goal(problem)
    spent = BOUNDED * _placings(problem)
    bound = _longest(head, tail)
    if best[-1] > max(bound, enough_us):
        other, placed = _placed(problem, _usual_ranks(tail), bound)
        spent += placed
        best = min(best, other, key=lambda one: one[-1])
    if min(best[-1], useful_us) > max(bound, enough_us) and nodes:
        # As if a schedule that long were known, what isn't shorter is left.
        hoped = [*best[:-1], min(best[-1], useful_us)]
        found, proven, more = _search(problem, tail, hoped, max(bound, enough_us), nodes)
        spent += more
        best = best if found is hoped else found
        bound = proven if proven > enough_us else bound
    return best, bound, spent


def _search(
    problem: Problem, tail: list[int], best: list[int], bound: int, nodes: int
) -> tuple[list[int], int, int]:
    """A short search, and where that leaves a gap a longer one.

    First forward in time, where that applies, then over orders.
    """
    kinds = _kinds(problem)
    forward = applies(problem)
    spent = 0
    size = max(SMALL, len(problem.tasks))
    for share in (nodes * SMALL // size, LONGER * nodes * SMALL // size):
        if best[-1] > bound and forward:
            ahead = Forward(problem, tail, kinds)
            best, bound = ahead.run(best, bound, share)
            spent += (share - ahead.budget) // CHILDREN
        if best[-1] > bound and len(problem.tasks) <= MANY:
            best, bound, left = _halve(Orders(problem, tail, kinds), best, bound, share)
            spent += share - left
    return best, bound, spent * size // SMALL


def _halve(orders: Orders, best: list[int], bound: int, nodes: int) -> tuple[list[int], int, int]:
    """Close the gap: ask for the bound itself, then for the lower half of what is left.

    A limit close to the bound leaves little to try; half of the nodes that are left go to each.
    What is left at the end comes with the answer.
    """
    limit = bound + 1
    while bound < best[-1] and nodes > 1:
        share = nodes // 2
        found, proven = orders.run(limit, bound, share)
        nodes -= share - max(orders.budget, 0)
        if proven:
            bound = limit if found is None else found[-1]
        elif found is None and limit >= best[-1]:
            break
        best = found or best
        halfway = bound + (best[-1] - bound + 1) // 2
        wide = best[-1] - bound > best[-1] // NARROW
        limit = halfway if wide and (proven or found or limit < halfway) else best[-1]
    return best, bound, nodes


def _tails_to_goal(problem: Problem) -> list[int]:
    leading = set(problem.leading_to(len(problem.tasks) - 1))
    return [tail if task in leading else NEVER for task, tail in enumerate(tails(problem))]


def _usual_ranks(tail: Sequence[int]) -> tuple[Rank, ...]:
    """Soonest first, then whatever has the longest way to go; and the other way round."""
    return (
        lambda task, earliest: (earliest, -tail[task]),
        lambda task, earliest: (-tail[task], earliest),
        lambda task, earliest: (earliest - tail[task],),
    )


def _kinds(problem: Problem) -> list[int]:
    """A number for each task, equal for tasks that nothing tells apart."""
    numbers: dict[object, int] = {}
    kinds = []
    for task, facts in enumerate(problem.tasks):
        draw = (facts.supply, facts.demand_ua, facts.length_us)
        own = (*draw, facts.channel, facts.mode, facts.batch)
        arcs = (tuple(sorted(problem.before[task])), tuple(sorted(problem.after[task])))
        fixed = problem.fixed.get(task)
        kinds.append(numbers.setdefault((own, facts.clear_us, arcs, fixed), len(numbers)))
    return kinds
