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
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from seqc.schedule.problem import NONE, Problem

Choice = tuple[tuple[int, int, int], ...]
"""New arcs: before, after, lag."""


@dataclass(slots=True)
class _Node:
    """Starts under the arcs chosen so far, those arcs, and what is still to be tried below."""

    starts: list[int]
    chosen: Choice
    children: Iterator[tuple[list[int], Choice]]


class Orders:
    """One search; `tail` are least times from each task to the goal, the last task.

    `kinds` are equal for tasks that nothing tells apart.
    """

    def __init__(self, problem: Problem, tail: Sequence[int], kinds: Sequence[int]) -> None:
        self.problem = problem
        self.tail = tail
        self.kinds = kinds
        self.best: list[int] = []
        self.effort = 0
        self.more: list[list[tuple[int, int]]] = [[] for _ in problem.tasks]
        self.bounded = [0] * len(problem.tasks)
        self.pulses = [
            task
            for task, facts in enumerate(problem.tasks)
            if facts.supply != NONE or facts.channel != NONE
        ]
        self.pairs = list(_exclusive_pairs(problem, self.pulses))

    def run(self, best: list[int], bound_us: int, effort: int) -> tuple[list[int], int]:
        """The best schedule, starting from one that is known, and a bound on all.

        Depth first, the child of the least bound first, looking at so many nodes or a few more.
        """
        self.best = best
        self.effort = effort
        root = self._settled([0] * len(self.problem.tasks), ())
        stack = [_Node(root, (), self._children(root))] if root else []
        while stack and self.best[-1] > bound_us and self.effort > 0:
            node = stack[-1]
            child = next(node.children, None)
            if child is None:
                self._withdraw(stack.pop().chosen)
                continue
            starts, chosen = child
            if self._hopeless(starts):
                continue
            self._adopt(chosen)
            stack.append(_Node(starts, chosen, self._children(starts)))
        proven = not stack or self.best[-1] <= bound_us
        return self.best, self.best[-1] if proven else bound_us

    def _hopeless(self, starts: Sequence[int]) -> bool:
        return max(map(sum, zip(starts, self.tail, strict=True))) >= self.best[-1]

    def _adopt(self, chosen: Choice) -> None:
        for before, after, lag in chosen:
            self.more[before].append((after, lag))
            self.bounded[after] += 1

    def _withdraw(self, chosen: Choice) -> None:
        for before, after, _ in chosen:
            self.more[before].pop()
            self.bounded[after] -= 1

    def _settled(self, starts: list[int], chosen: Choice) -> list[int] | None:
        """Starts after every arc has been followed; None if that can't beat the best."""
        waiting = [before for before, _, _ in chosen] or list(range(len(starts)))
        for task, start in self.problem.fixed.items():
            starts[task] = start
        limit = self.best[-1]
        while waiting:
            task = waiting.pop()
            for after, lag in itertools.chain(self.problem.after[task], self.more[task]):
                start = starts[task] + lag
                if start > starts[after]:
                    if after in self.problem.fixed or start + self.tail[after] >= limit:
                        return None
                    starts[after] = start
                    waiting.append(after)
        return starts

    def _ordered(self, starts: list[int], chosen: Choice) -> tuple[list[int], Choice] | None:
        """A child with every pair put in the only order that is left to it; None if none is."""
        self._adopt(chosen)
        below: list[int] | None = self._settled(starts, chosen)
        added = list(chosen)
        again = True
        while below is not None and again:
            forced = self._forced(below)
            again = bool(forced)
            if forced is None:
                below = None
            elif forced:
                self._adopt(forced)
                added += forced
                below = self._settled(below, forced)
        self._withdraw(tuple(added))
        return None if below is None else (below, tuple(added))

    def _forced(self, starts: Sequence[int]) -> Choice | None:
        """The pairs that have one order left and aren't in it yet; None if one has none."""
        limit = self.best[-1]
        tail = self.tail
        found: list[tuple[int, int, int]] = []
        for one, two, there, back in self.pairs:
            first = starts[one] + there + tail[two] < limit
            second = starts[two] + back + tail[one] < limit
            if not first and not second:
                return None
            if first and not second and starts[two] < starts[one] + there:
                found.append((one, two, there))
            if second and not first and starts[one] < starts[two] + back:
                found.append((two, one, back))
        return tuple(found)

    def _children(self, starts: list[int]) -> Iterator[tuple[list[int], Choice]]:
        choices = self._choices(starts)
        if choices is None:
            if starts[-1] < self.best[-1]:
                self.best = list(starts)
            return iter(())
        self.effort -= len(choices)
        found = [self._ordered(list(starts), chosen) for chosen in choices]
        able = [child for child in found if child is not None]
        able.sort(key=lambda child: max(map(sum, zip(child[0], self.tail, strict=True))))
        return iter(able)

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
        if self.more[task] or self.bounded[task]:
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
