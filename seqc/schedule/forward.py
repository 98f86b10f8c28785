"""The shortest schedule by going forward in time, from what has started to what starts next.

A state is what has started so far, in order of time. The state of the least bound is developed
first, and one that isn't better in anything than another with the same tasks started is dropped
(dominance). Only tasks that could start before any other could be over are candidates, as in the
active schedules of Giffler and Thompson (1960). Where a task may have to wait for another that
starts later (a negative lag), or where drives share anything, the search does not apply.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from operator import le

from seqc.schedule.bounds import NEVER
from seqc.schedule.problem import NONE, Problem
from seqc.solver.load_time.load_timer import FOREVER

Running = list[list[tuple[int, int]]]
"""For each supply the ends of the pulses that still run, and what they draw."""


@dataclass(slots=True)
class State:
    """What has started: `starts` of those, and for all others the earliest start so far known.

    `open` are the tasks that may start next with the soonest starts.
    """

    started: int
    front_us: int
    starts: list[int]
    open: list[tuple[int, int]] = field(default_factory=list)


def applies(problem: Problem) -> bool:
    """Whether schedules of a problem can be built forward in time.

    Nothing waits for what starts later, no drive shares anything, and of the given starts at most
    one is at 0, and none later.
    """
    given = list(problem.fixed.values())
    in_order = all(lag >= 0 for before in problem.before for _, lag in before)
    return in_order and not problem.channels and max(given, default=0) <= 0 and given.count(0) <= 1


class Forward:
    """One search; `tail` are least times from each task to the goal, the last task.

    `kinds` are equal for tasks that nothing tells apart.
    """

    def __init__(self, problem: Problem, tail: Sequence[int], kinds: Sequence[int]) -> None:
        self.problem = problem
        self.tail = tail
        self.tasks = problem.tasks
        self.count = len(problem.tasks)
        self.complete = (1 << self.count) - 1
        self.needs = [sum(1 << other for other, _ in set(before)) for before in problem.before]
        self.twin = _previous_of_kind(kinds)
        self.events = [
            task
            for task, facts in enumerate(self.tasks)
            if facts.supply == NONE and task not in problem.fixed
        ]
        self.budget = 0
        self.known: dict[int, list[list[int]]] = {}

    def run(self, best: list[int], bound_us: int, nodes: int) -> tuple[list[int], int]:
        """The best schedule, at least as good as the one known, and a bound on all others.

        It looks at so many nodes or a few more, and leaves what is left in `budget`.
        """
        self.budget = nodes
        ranks = itertools.count()
        heap = [
            (max(bound_us, self._bound(state)), 0, next(ranks), state) for state in self._roots()
        ]
        heapq.heapify(heap)
        while heap and self.budget > 0:
            bound, _, _, state = heapq.heappop(heap)
            bound_us = min(bound, best[-1])
            if bound_us == best[-1]:
                break
            if state.started == self.complete:
                return state.starts, state.starts[-1]
            for child in self._children(state):
                self.budget -= 1
                worth = max(bound, self._bound(child))
                if worth < best[-1] and self._is_new(child):
                    entry = (worth, -child.started.bit_count(), next(ranks), child)
                    heapq.heappush(heap, entry)
        return best, bound_us if heap else best[-1]

    def _roots(self) -> list[State]:
        """Where to begin: after what is given before 0, and with what must start at 0."""
        state = State(0, 0, [0] * self.count)
        now = [task for task, start in self.problem.fixed.items() if start == 0]
        for task, start in self.problem.fixed.items():
            if task not in now:
                self._start(state, task, start)
        state.front_us = 0
        self._look_around(state)
        if not now:
            return [state]
        return [
            self._after(state, task, 0)
            for task, start in state.open
            if (task, start) == (now[0], 0)
        ]

    def _start(self, state: State, task: int, start: int) -> None:
        state.started |= 1 << task
        state.starts[task] = start
        state.front_us = max(state.front_us, start)
        for after, lag in self.problem.after[task]:
            if not state.started >> after & 1:
                state.starts[after] = max(state.starts[after], start + lag)

    def _look_around(self, state: State) -> None:
        """Let events happen, then find what may start next; of twins only the first."""
        for task in self.events:
            if not state.started >> task & 1 and not self.needs[task] & ~state.started:
                front = state.front_us
                self._start(state, task, state.starts[task])
                state.front_us = front
        running = self._running(state)
        for task in range(self.count):
            twin = self.twin[task]
            if state.started >> task & 1 or self.needs[task] & ~state.started:
                continue
            if twin == NONE or state.started >> twin & 1:
                state.open.append((task, self._soonest(state, running, task)))

    def _running(self, state: State) -> Running:
        found: Running = [[] for _ in self.problem.capacities_ua]
        for task, facts in enumerate(self.tasks):
            if facts.supply != NONE and state.started >> task & 1:
                end = state.starts[task] + facts.length_us
                if end > state.front_us:
                    found[facts.supply].append((end, facts.demand_ua))
        for ends in found:
            ends.sort()
        return found

    def _soonest(self, state: State, running: Running, task: int) -> int:
        start = max(state.starts[task], state.front_us)
        facts = self.tasks[task]
        if facts.supply == NONE:
            return start
        capacity = self.problem.capacities_ua[facts.supply]
        ends = running[facts.supply]
        drawn = facts.demand_ua + sum(draw for end, draw in ends if end > start)
        for end, draw in ends:
            if end > start:
                if drawn <= capacity:
                    break
                start, drawn = end, drawn - draw
        return start

    def _bound(self, state: State) -> int:
        """No schedule from here reaches the goal sooner."""
        if state.started == self.complete:
            return state.starts[-1]
        return max((start + self.tail[task] for task, start in state.open), default=NEVER)

    def _children(self, state: State) -> Iterator[State]:
        ends = (at + self.tasks[task].length_us for task, at in state.open)
        over = min(ends, default=FOREVER)
        for task, start in state.open:
            if start < over:
                yield self._after(state, task, start)

    def _after(self, state: State, task: int, start: int) -> State:
        """The state in which one more task has started."""
        child = State(state.started, state.front_us, list(state.starts))
        self._start(child, task, start)
        self._look_around(child)
        return child

    def _is_new(self, state: State) -> bool:
        """Whether no known state with the same tasks started is as good in everything."""
        measures = self._measures(state)
        rivals = self.known.setdefault(state.started, [])
        if any(all(map(le, rival, measures)) for rival in rivals):
            return False
        rivals[:] = [rival for rival in rivals if not all(map(le, measures, rival))]
        rivals.append(measures)
        return True

    def _measures(self, state: State) -> list[int]:
        front = state.front_us
        found = [front]
        for task, start in enumerate(state.starts):
            started = state.started >> task & 1
            found.append(max(start + self.tasks[task].length_us if started else start, front))
        return found


def _previous_of_kind(kinds: Sequence[int]) -> list[int]:
    last: dict[int, int] = {}
    found = []
    for task, kind in enumerate(kinds):
        found.append(last.get(kind, NONE))
        last[kind] = task
    return found
