"""The shortest schedule by branch and bound over the order of tasks that can't run together.

Every choice is an arc, so that a node of the search is a set of arcs, and the longest ways through
them are lower bounds on all starts. Where the tasks at their earliest starts overdraw a supply, one
of them ends first and some of the others, enough to relieve it, start after that end: the minimal
delaying alternatives of De Reyck and Herroelen (1998), which stay exact with negative lags. Where
two tasks of one channel come too close, one is first, the other is, or they coincide. Of a pair
that can't overlap, an order that comes too late for the best schedule fixes the other (Carlier and
Pinson 1989). Tasks that nothing tells apart are tried in one order only.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from seqc.schedule.problem import NONE, Problem

Choice = tuple[tuple[int, int, int], ...]
"""New arcs: before, after, lag."""


@dataclass(slots=True)
class _Times:
    """Under the arcs chosen so far: earliest starts, and least times from a start to the goal."""

    starts: list[int]
    tails: list[int]

    @property
    def bound_us(self) -> int:
        """No schedule under these arcs reaches the goal sooner."""
        return max(map(sum, zip(self.starts, self.tails, strict=True)))


@dataclass(slots=True)
class _Node:
    """The arcs that were chosen here, and what is still to be tried below."""

    chosen: Choice
    children: Iterator[tuple[_Times, Choice]]


class Orders:
    """One search; `tail` are least times from each task to the goal, the last task.

    `kinds` are equal for tasks that nothing tells apart.
    """

    def __init__(self, problem: Problem, tail: Sequence[int], kinds: Sequence[int]) -> None:
        self.problem = problem
        self.tail = tail
        self.kinds = kinds
        self.found: list[int] | None = None
        self.limit_us = 0
        self.budget = 0
        self.more: list[list[tuple[int, int]]] = [[] for _ in problem.tasks]
        self.less: list[list[tuple[int, int]]] = [[] for _ in problem.tasks]
        self.pulses = [
            task
            for task, facts in enumerate(problem.tasks)
            if facts.supply != NONE or facts.channel != NONE
        ]
        self.pairs = list(_exclusive_pairs(problem, self.pulses))

    def run(self, limit_us: int, bound_us: int, nodes: int) -> tuple[list[int] | None, bool]:
        """The best schedule under a limit, None if none is found, and whether that is proven.

        Depth first, the child of the least bound first, looking at so many nodes or a few more. It
        ends at the bound.
        """
        self.found, self.limit_us, self.budget = None, limit_us, nodes
        root = self._ordered(_Times([0] * len(self.tail), list(self.tail)), ())
        stack = [_Node((), iter([root] if root else []))]
        while stack and self.limit_us > bound_us and self.budget > 0:
            times, chosen = next(stack[-1].children, (None, ()))
            if times is None:
                self._withdraw(stack.pop().chosen)
            elif times.bound_us < self.limit_us:
                self._adopt(chosen)
                stack.append(_Node(chosen, self._children(times)))
        proven = not stack or self.limit_us <= bound_us
        while stack:
            self._withdraw(stack.pop().chosen)
        return self.found, proven

    def _adopt(self, chosen: Choice) -> None:
        for before, after, lag in chosen:
            self.more[before].append((after, lag))
            self.less[after].append((before, lag))

    def _withdraw(self, chosen: Choice) -> None:
        for before, after, _ in reversed(chosen):
            self.more[before].pop()
            self.less[after].pop()

    def _settled(self, times: _Times, chosen: Choice) -> bool:
        """Let starts and tails follow every arc; False if that can't stay under the limit."""
        for task, start in self.problem.fixed.items():
            times.starts[task] = start
        everything = list(range(len(times.starts)))
        return self._push(times, [arc[0] for arc in chosen] or everything) and self._pull(
            times, [arc[1] for arc in chosen] or everything
        )

    def _push(self, times: _Times, waiting: list[int]) -> bool:
        starts, tails, limit = times.starts, times.tails, self.limit_us
        while waiting:
            task = waiting.pop()
            for after, lag in itertools.chain(self.problem.after[task], self.more[task]):
                start = starts[task] + lag
                if start > starts[after]:
                    if after in self.problem.fixed or start + tails[after] >= limit:
                        return False
                    starts[after] = start
                    waiting.append(after)
        return True

    def _pull(self, times: _Times, waiting: list[int]) -> bool:
        starts, tails, limit = times.starts, times.tails, self.limit_us
        while waiting:
            task = waiting.pop()
            for before, lag in itertools.chain(self.problem.before[task], self.less[task]):
                tail = tails[task] + lag
                if tail > tails[before]:
                    if starts[before] + tail >= limit:
                        return False
                    tails[before] = tail
                    waiting.append(before)
        return True

    def _ordered(self, times: _Times, chosen: Choice) -> tuple[_Times, Choice] | None:
        """A child with every pair put in the only order that is left to it; None if none is."""
        self._adopt(chosen)
        added = chosen
        able = self._settled(times, chosen)
        while able:
            forced = self._forced(times)
            if not forced:
                able = forced is not None
                break
            self._adopt(forced)
            added += forced
            able = self._settled(times, forced)
        self._withdraw(added)
        return (times, added) if able else None

    def _forced(self, times: _Times) -> Choice | None:
        """The pairs that have one order left and aren't in it yet; None if one has none."""
        starts, tails, limit = times.starts, times.tails, self.limit_us
        found: list[tuple[int, int, int]] = []
        for one, two, there, back in self.pairs:
            first = starts[one] + there + tails[two] < limit
            second = starts[two] + back + tails[one] < limit
            if first and second:
                continue
            if not first and not second:
                return None
            before, after, lag = (one, two, there) if first else (two, one, back)
            if starts[after] < starts[before] + lag or tails[before] < tails[after] + lag:
                found.append((before, after, lag))
        return tuple(found)

    def _children(self, times: _Times) -> Iterator[tuple[_Times, Choice]]:
        choices = self._tightest(times) or self._choices(times.starts)
        if choices is None:
            if times.starts[-1] < self.limit_us:
                self.found, self.limit_us = list(times.starts), times.starts[-1]
            return iter(())
        self.budget -= len(choices)
        tried = [
            self._ordered(_Times(list(times.starts), list(times.tails)), chosen)
            for chosen in choices
        ]
        able = [child for child in tried if child is not None]
        able.sort(key=lambda child: child[0].bound_us)
        return iter(able)

    def _tightest(self, times: _Times) -> list[Choice] | None:
        """The two orders of the pair that has least room for either, None if no pair collides."""
        starts, tails = times.starts, times.tails
        best: tuple[float, int, int] | None = None
        choices: list[Choice] | None = None
        for one, two, there, back in self.pairs:
            if starts[two] >= starts[one] + there or starts[one] >= starts[two] + back:
                continue
            first = self.limit_us - starts[one] - there - tails[two]
            second = self.limit_us - starts[two] - back - tails[one]
            narrow, wide = sorted((first, second))
            rank = (narrow / math.sqrt(max(narrow / max(wide, 1), 1e-9)), one, two)
            if best is None or rank < best:
                best = rank
                forward, backward = ((one, two, there),), ((two, one, back),)
                choices = [forward, backward] if first >= second else [backward, forward]
        return choices

    def _choices(self, starts: Sequence[int]) -> list[Choice] | None:
        """The ways to resolve the first conflict, None if there is none."""
        active: list[int] = []
        order = sorted(self.pulses, key=lambda task: (starts[task], task))
        for task in order:
            for other in self._near(order, task, starts):
                return self._in_channel(other, task)
            active = [
                other
                for other in active
                if starts[other] + self.problem.tasks[other].length_us > starts[task]
            ]
            active.append(task)
            rivals = self._overdrawn(active, task)
            if rivals:
                return self._on_supply(rivals)
        return None

    def _near(self, order: list[int], task: int, starts: Sequence[int]) -> Iterator[int]:
        """Tasks before this one in its channel that are too close to it."""
        facts = self.problem.tasks
        if facts[task].channel == NONE:
            return
        for other in order:
            if other == task:
                return
            if facts[other].channel == facts[task].channel:
                apart = self.problem.apart_us(other, task)
                if apart is None or starts[task] >= starts[other] + apart:
                    continue
                if starts[task] != starts[other] or not self.problem.may_coincide(other, task):
                    yield other

    def _in_channel(self, one: int, two: int) -> list[Choice]:
        problem = self.problem
        choices: list[Choice] = [
            ((one, two, problem.apart_us(one, two) or 0),),
            ((two, one, problem.apart_us(two, one) or 0),),
        ]
        if problem.may_coincide(one, two):
            choices.insert(0, ((one, two, 0), (two, one, 0)))
        return choices

    def _overdrawn(self, active: list[int], task: int) -> list[int]:
        """The active tasks on the supply of this one, if together they draw too much."""
        facts = self.problem.tasks
        supply = facts[task].supply
        rivals = [other for other in active if facts[other].supply == supply != NONE]
        drawn = sum(facts[other].demand_ua for other in rivals)
        return rivals if rivals and drawn > self.problem.capacities_ua[supply] else []

    def _on_supply(self, rivals: list[int]) -> list[Choice]:
        """For each task that may end first, each least set of others to start after its end."""
        facts = self.problem.tasks
        seen: set[tuple[object, ...]] = set()
        choices: list[Choice] = []
        for delayed in self._least_sets(rivals):
            for first in rivals:
                key = (self._kind(first), tuple(sorted(map(repr, map(self._kind, delayed)))))
                if first in delayed or key in seen:
                    continue
                seen.add(key)
                end = facts[first].length_us
                choices.append(tuple((first, other, end) for other in delayed))
        return choices

    def _least_sets(self, rivals: list[int]) -> Iterator[tuple[int, ...]]:
        """The sets of tasks whose delay relieves the supply, none within another."""
        demand = {task: self.problem.tasks[task].demand_ua for task in rivals}
        supply = self.problem.tasks[rivals[0]].supply
        excess = sum(demand.values()) - self.problem.capacities_ua[supply]
        lightest = sorted(demand.values())
        for size in range(1, len(rivals)):
            if sum(lightest[: size - 1]) >= excess:
                return
            for delayed in itertools.combinations(rivals, size):
                relief = sum(demand[task] for task in delayed)
                if relief >= excess and relief - min(demand[task] for task in delayed) < excess:
                    yield delayed

    def _kind(self, task: int) -> tuple[object, ...]:
        """What tells a task from others at this node: tasks of one kind are interchangeable."""
        if self.more[task] or self.less[task]:
            return (task,)
        return (self.kinds[task], "alike")


def _exclusive_pairs(
    problem: Problem, pulses: Sequence[int]
) -> Iterator[tuple[int, int, int, int]]:
    """Pairs that can't run together, and the least time between their starts in either order."""
    tasks = problem.tasks
    for one, two in itertools.combinations(pulses, 2):
        shared = tasks[one].channel == tasks[two].channel != NONE
        there = problem.apart_us(one, two) if shared else None
        back = problem.apart_us(two, one) if shared else None
        if there is not None and back is not None and not problem.may_coincide(one, two):
            yield one, two, there, back
        elif tasks[one].supply == tasks[two].supply != NONE:
            drawn = tasks[one].demand_ua + tasks[two].demand_ua
            if drawn > problem.capacities_ua[tasks[one].supply]:
                yield one, two, tasks[one].length_us, tasks[two].length_us
