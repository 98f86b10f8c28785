"""Puts tasks into time one by one, each as early as what is already placed allows."""

from __future__ import annotations

import bisect
from collections.abc import Callable, Mapping

from seqc.schedule.problem import NONE, Problem

Rank = Callable[[int, int], tuple[int, ...]]
"""The rank of a task that may be placed, by its number and its earliest start: lowest first."""

_Drawn = tuple[int, int, int]
"""When a pulse starts and ends, and what current it draws."""


class Placement:
    """The tasks placed so far, and where the next one fits."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.starts: dict[int, int] = {}
        self._on_supply: list[list[_Drawn]] = [[] for _ in problem.capacities_ua]
        self._on_channel: list[list[tuple[int, int]]] = [[] for _ in problem.channels]
        self._longest = max((task.length_us for task in problem.tasks), default=0)
        self._reach = self._longest + self._longest_pause()
        for task, start in problem.fixed.items():
            self.place(task, start)

    def _longest_pause(self) -> int:
        pauses = [max(channel.same_us or 0, *channel.turn_us) for channel in self.problem.channels]
        clear = max((task.clear_us for task in self.problem.tasks), default=0)
        return max(pauses, default=0) + clear

    def place(self, task: int, start_us: int) -> None:
        """Fix the start of a task."""
        self.starts[task] = start_us
        facts = self.problem.tasks[task]
        if facts.supply != NONE:
            drawn = (start_us, start_us + facts.length_us, facts.demand_ua)
            bisect.insort(self._on_supply[facts.supply], drawn)
        if facts.channel != NONE:
            bisect.insort(self._on_channel[facts.channel], (start_us, task))

    def earliest(self, task: int, from_us: int) -> int:
        """The first instant from `from_us` on at which the task fits."""
        start = from_us
        while True:
            free = self._after_supply(task, self._after_channel(task, start))
            if free == start:
                return start
            start = free

    def _after_channel(self, task: int, start: int) -> int:
        channel = self.problem.tasks[task].channel
        if channel == NONE:
            return start
        placed = self._on_channel[channel]
        rank = bisect.bisect_left(placed, (start - self._reach, NONE))
        while rank < len(placed) and placed[rank][0] <= start + self._reach:
            start = self._clear_of(task, start, *placed[rank])
            rank += 1
        return start

    def _clear_of(self, task: int, start: int, other_start: int, other: int) -> int:
        """The start of a task, put off if it would come too close to another."""
        apart = self.problem.apart_us(other, task)
        if apart is None or start >= other_start + apart:
            return start
        if start + (self.problem.apart_us(task, other) or 0) <= other_start:
            return start
        if start <= other_start and self.problem.may_coincide(task, other):
            return other_start
        return other_start + apart

    def _after_supply(self, task: int, start: int) -> int:
        facts = self.problem.tasks[task]
        if facts.supply == NONE:
            return start
        room = self.problem.capacities_ua[facts.supply] - facts.demand_ua
        while True:
            near = self._overlapping(facts.supply, start, start + facts.length_us)
            left = room
            for _, _, demand in near:
                left -= demand
            if left >= 0:
                return start
            free = self._first_release(near, start, room)
            if free is None:
                return start
            start = free

    def _overlapping(self, supply: int, start: int, end: int) -> list[_Drawn]:
        placed = self._on_supply[supply]
        low = bisect.bisect_left(placed, (start - self._longest,))
        high = bisect.bisect_left(placed, (end,), low)
        return [drawn for drawn in placed[low:high] if drawn[1] > start]

    @staticmethod
    def _first_release(near: list[_Drawn], start: int, room: int) -> int | None:
        """When the first pulse ends at the first instant without room, None if there is room."""
        for at in (start, *(begin for begin, _, _ in near if begin > start)):
            active = [(end, demand) for begin, end, demand in near if begin <= at < end]
            if sum(demand for _, demand in active) > room:
                return min(end for end, _ in active)
        return None


def place_all(problem: Problem, rank: Rank, given: Mapping[int, int] | None = None) -> list[int]:
    """The start of every task, the ready one of the lowest rank always placed next.

    `given` are starts that are kept. A task is ready when every task that bounds it is placed.
    """
    placement = Placement(problem)
    for task, start in (given or {}).items():
        if task not in placement.starts:
            placement.place(task, start)
    waiting = {
        task: sum(before not in placement.starts for before, _ in problem.before[task])
        for task in range(len(problem.tasks))
        if task not in placement.starts
    }
    ready = {task: _bound(problem, placement, task) for task, left in waiting.items() if not left}
    while ready:
        task = min(ready, key=lambda candidate: (*rank(candidate, ready[candidate]), candidate))
        placement.place(task, placement.earliest(task, ready.pop(task)))
        for after, _ in problem.after[task]:
            if after in waiting and after not in placement.starts:
                waiting[after] -= 1
                if not waiting[after]:
                    ready[after] = _bound(problem, placement, after)
    return [placement.starts[task] for task in range(len(problem.tasks))]


def _bound(problem: Problem, placement: Placement, task: int) -> int:
    starts = placement.starts
    return max([0, *(starts[before] + lag for before, lag in problem.before[task])])
