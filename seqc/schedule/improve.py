"""A better schedule from a good one: turn round what waits for each other on the critical chain.

A tabu search. Two tasks of which the later starts when the earlier leaves the supply or the channel
to it are placed in the other order, and all tasks anew in the order of their starts; the best such
turn is taken even if it is for the worse, and not undone for some time.
"""

from __future__ import annotations

from collections.abc import Sequence

from seqc.schedule.placement import place_all
from seqc.schedule.problem import NONE, Problem

TENURE = 12
"""For how many turns a pair stays as it has been turned."""

Pair = tuple[int, int]


def improve(problem: Problem, starts: list[int], bound_us: int, turns: int) -> list[int]:
    """The best schedule found in at most so many turns; it ends at the bound."""
    best = current = starts
    kept: dict[Pair, int] = {}
    for turn in range(turns):
        if best[-1] <= bound_us:
            break
        tried = [(pair, _turned(problem, current, pair)) for pair in _waiting(problem, current)]
        free = [
            (pair, found)
            for pair, found in tried
            if found != current and (kept.get(pair, 0) <= turn or found[-1] < best[-1])
        ]
        if not free:
            break
        pair, current = min(free, key=lambda one: (one[1][-1], one[0]))
        kept[pair[1], pair[0]] = turn + TENURE + turn % 5
        if current[-1] < best[-1]:
            best = current
    return best


def _turned(problem: Problem, starts: Sequence[int], pair: Pair) -> list[int]:
    """All tasks placed in the order of their starts, but the first of a pair after the second."""
    first, second = pair
    ranks = [(start, 0, task) for task, start in enumerate(starts)]
    ranks[first] = (starts[second], 1, first)
    return place_all(problem, lambda task, _: ranks[task])


def _waiting(problem: Problem, starts: Sequence[int]) -> list[Pair]:
    """The pairs on critical chains of which one waits for a supply or a channel."""
    pairs: list[Pair] = []
    waiting = [len(starts) - 1]
    seen: set[int] = set()
    while waiting:
        task = waiting.pop()
        if task in seen or task in problem.fixed:
            continue
        seen.add(task)
        waiting += [b for b, lag in problem.before[task] if starts[b] + lag == starts[task]]
        before = _giving_way(problem, starts, task)
        if before is not None and before not in problem.fixed:
            pairs.append((before, task))
            waiting.append(before)
    return pairs


def _giving_way(problem: Problem, starts: Sequence[int], task: int) -> int | None:
    """The first task that had to end, or to clear its channel, before this one could start."""
    own, now = problem.tasks[task], starts[task]
    for other, facts in enumerate(problem.tasks):
        if starts[other] >= now:
            continue
        if facts.supply == own.supply != NONE and starts[other] + facts.length_us == now:
            return other
        shared = facts.channel == own.channel != NONE
        if shared and starts[other] + (problem.apart_us(other, task) or 0) == now:
            return other
    return None
