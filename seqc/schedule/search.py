"""The shortest schedule, by branch and bound over the order of tasks that can't run together.

Every choice is an arc, so that a node of the search is a set of arcs, and the longest ways through
them are lower bounds on all starts. Where the tasks at their earliest starts overdraw a supply, one
of them ends first and some of the others, enough to relieve it, start after that end: the minimal
delaying alternatives of De Reyck and Herroelen (1998), which stay exact with negative lags. Where
two tasks of one channel come too close, one is first, the other is, or they coincide. Tasks that
nothing tells apart are tried in one order only.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from seqc.schedule.bounds import NEVER, heads, tails
from seqc.schedule.placement import Rank, place_all
from seqc.schedule.problem import NONE, Problem

EFFORT = 300
"""How many nodes a search visits at most before it settles for a bound."""

Choice = tuple[tuple[int, int, int], ...]
"""New arcs: before, after, lag."""


@dataclass(frozen=True, slots=True)
class Answer:
    """The start of each task, that of the goal (the last task), and the least it could be."""

    starts: tuple[int, ...]
    value_us: int
    bound_us: int

    @property
    def proven(self) -> bool:
        """Whether no schedule is shorter."""
        return self.value_us == self.bound_us


def solve(problem: Problem, ranks: Sequence[Rank] = (), effort: int = EFFORT) -> Answer:
    """The schedule in which the last task, the goal, starts soonest.

    Every task must bound the goal, except those whose start is given.

    `ranks` are orders of preference among ready tasks, tried first; the first best one is kept
    unless the search finds a shorter schedule.
    """
    tail = _tails_to_goal(problem)
    head = heads(problem)
    bound = max(map(sum, zip(head, tail, strict=True)), default=0)
    best: list[int] = []
    for rank in (*ranks, *_usual_ranks(tail)):
        starts = place_all(problem, rank)
        if not best or starts[-1] < best[-1]:
            best = starts
        if best[-1] == bound:
            break
    if best[-1] == bound or not effort:
        return Answer(tuple(best), best[-1], bound)
    return _Search(problem, tail, best, bound, effort).run()


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


@dataclass(slots=True)
class _Node:
    """Starts under the arcs chosen so far, those arcs, and what is still to be tried below."""

    starts: list[int]
    chosen: Choice
    children: Iterator[tuple[list[int], Choice]]


class _Search:
    def __init__(
        self, problem: Problem, tail: list[int], best: list[int], bound: int, effort: int
    ) -> None:
        self.problem = problem
        self.tail = tail
        self.best = best
        self.bound = bound
        self.effort = effort
        self.more: list[list[tuple[int, int]]] = [[] for _ in problem.tasks]
        self.bounded = [0] * len(problem.tasks)
        self.kinds = _kinds(problem)
        self.pulses = [
            task
            for task, facts in enumerate(problem.tasks)
            if facts.supply != NONE or facts.channel != NONE
        ]

    def run(self) -> Answer:
        """Depth first, the child of the least bound first."""
        root = self._settled([0] * len(self.problem.tasks), range(len(self.problem.tasks)))
        stack = [_Node(root, (), self._children(root))] if root else []
        while stack and self.best[-1] > self.bound and self.effort:
            node = stack[-1]
            child = next(node.children, None)
            if child is None:
                self._withdraw(stack.pop().chosen)
                continue
            starts, chosen = child
            if self._hopeless(starts):
                continue
            self.effort -= 1
            self._adopt(chosen)
            stack.append(_Node(starts, chosen, self._children(starts)))
        proven = not stack or self.best[-1] == self.bound
        bound = self.best[-1] if proven else self.bound
        return Answer(tuple(self.best), self.best[-1], bound)

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

    def _settled(self, starts: list[int], moved: Sequence[int] | range) -> list[int] | None:
        """Starts after every arc has been followed; None if that can't beat the best."""
        waiting = list(moved)
        for task, start in self.problem.fixed.items():
            starts[task] = start
        while waiting:
            task = waiting.pop()
            for after, lag in itertools.chain(self.problem.after[task], self.more[task]):
                start = starts[task] + lag
                if start > starts[after]:
                    if after in self.problem.fixed or start + self.tail[after] >= self.best[-1]:
                        return None
                    starts[after] = start
                    waiting.append(after)
        return starts

    def _children(self, starts: list[int]) -> Iterator[tuple[list[int], Choice]]:
        choices = self._choices(starts)
        if choices is None:
            if starts[-1] < self.best[-1]:
                self.best = list(starts)
            return iter(())
        found: list[tuple[list[int], Choice]] = []
        for chosen in choices:
            self._adopt(chosen)
            below = self._settled(list(starts), [before for before, _, _ in chosen])
            self._withdraw(chosen)
            if below:
                found.append((below, chosen))
        found.sort(key=lambda child: (max(map(sum, zip(child[0], self.tail, strict=True))),))
        return iter(found)

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
        for size in range(1, len(rivals)):
            for delayed in itertools.combinations(rivals, size):
                relief = sum(demand[task] for task in delayed)
                if relief >= excess and relief - min(demand[task] for task in delayed) < excess:
                    yield delayed

    def _kind(self, task: int) -> tuple[object, ...]:
        """What tells a task from others at this node: tasks of one kind are interchangeable."""
        if self.more[task] or self.bounded[task]:
            return (task,)
        return (self.kinds[task], "alike")


def _kinds(problem: Problem) -> list[int]:
    """A number for each task, equal for tasks that nothing tells apart."""
    numbers: dict[object, int] = {}
    kinds = []
    for task, facts in enumerate(problem.tasks):
        own = (facts.supply, facts.demand_ua, facts.length_us, facts.channel, facts.mode)
        arcs = (tuple(sorted(problem.before[task])), tuple(sorted(problem.after[task])))
        fixed = problem.fixed.get(task)
        kinds.append(numbers.setdefault((own, facts.clear_us, arcs, fixed), len(numbers)))
    return kinds
