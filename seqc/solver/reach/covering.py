"""The cheapest whole numbers that meet conditions of the form "this one at least, or that one".

Each actuator has a number, zero at first. A demand is met if any of its actuators has the number
that it names or more. The sum of all is to be least: a hitting set with thresholds, sought by
branch and bound with a lower bound from demands that have no actuator in common.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

MOST_NODES = 20_000

Demand = tuple[tuple[int, int], ...]
"""Actuators, each with the number at which it meets the demand."""


@dataclass(frozen=True, slots=True)
class Cover:
    """The number of every actuator that is above zero, and a lower bound of their sum."""

    numbers: dict[int, int]
    lower_bound: int

    @property
    def total(self) -> int:
        """The sum of the numbers."""
        return sum(self.numbers.values())


@dataclass(frozen=True, slots=True)
class _Node:
    """Numbers that hold, actuators that stay below a number, and what is left to be met."""

    numbers: dict[int, int]
    below: dict[int, int]
    left: tuple[Demand, ...]
    lower_bound: int


def cheapest_cover(demands: Iterable[Demand], effort: int = MOST_NODES) -> Cover:
    """Numbers of the least sum that meet all demands, or good ones with a lower bound.

    Every demand must have an actuator.
    """
    everything = tuple(dict.fromkeys(demands))
    best = _greedy(everything)
    least = sum(best.values())
    waiting = [node] if (node := _settled({}, {}, everything)) else []
    while waiting and effort:
        effort -= 1
        node = waiting.pop()
        if node.lower_bound >= least:
            continue
        if not node.left:
            best, least = node.numbers, node.lower_bound
            continue
        waiting += [child for child in _children(node) if child and child.lower_bound < least]
    bound = min((node.lower_bound for node in waiting), default=least)
    return Cover({actuator: best[actuator] for actuator in sorted(best)}, min(bound, least))


def _greedy(demands: Sequence[Demand]) -> dict[int, int]:
    node = _settled({}, {}, demands)
    while node and node.left:
        actuator, number = _busiest(node)
        node = _settled({**node.numbers, actuator: number}, {}, node.left)
    assert node is not None
    return node.numbers


def _children(node: _Node) -> tuple[_Node | None, _Node | None]:
    """The node with one actuator kept below a number, and with it raised to that number."""
    actuator, number = _busiest(node)
    kept = _settled(node.numbers, {**node.below, actuator: number}, node.left)
    raised = _settled({**node.numbers, actuator: number}, node.below, node.left)
    return kept, raised


def _busiest(node: _Node) -> tuple[int, int]:
    """The actuator that could meet the most of what is left, and the first number that does."""
    counts = Counter(actuator for demand in node.left for actuator, _ in demand)
    chosen = max(counts, key=lambda actuator: (counts[actuator], -actuator))
    return chosen, min(
        number for demand in node.left for actuator, number in demand if actuator == chosen
    )


def _settled(
    numbers: Mapping[int, int], below: Mapping[int, int], demands: Sequence[Demand]
) -> _Node | None:
    """The node after every demand that one actuator alone can meet has raised it; None if lost."""
    numbers = dict(numbers)
    left = demands
    while True:
        left = tuple(
            tuple((a, number) for a, number in demand if number < below.get(a, number + 1))
            for demand in left
            if not any(numbers.get(a, 0) >= number for a, number in demand)
        )
        if not all(left):
            return None
        forced = [demand[0] for demand in left if len(demand) == 1]
        if not forced:
            return _Node(numbers, dict(below), left, sum(numbers.values()) + _bound(numbers, left))
        for actuator, number in forced:
            numbers[actuator] = max(numbers.get(actuator, 0), number)


def _bound(numbers: Mapping[int, int], demands: Sequence[Demand]) -> int:
    """What demands that have no actuator in common cost at least, the dearest taken first."""
    by_actuators: dict[tuple[int, ...], list[Demand]] = {}
    for demand in demands:
        by_actuators.setdefault(tuple(actuator for actuator, _ in demand), []).append(demand)
    costs = [(_cost(numbers, some), actuators) for actuators, some in by_actuators.items()]
    taken: set[int] = set()
    total = 0
    for cost, actuators in sorted(costs, key=lambda each: (-each[0], each[1])):
        if taken.isdisjoint(actuators):
            taken.update(actuators)
            total += cost
    return total


def _cost(numbers: Mapping[int, int], demands: Sequence[Demand]) -> int:
    """What demands on the same actuators cost at least; exact for two actuators."""
    if len(demands[0]) != 2:
        return max(min(number - numbers.get(a, 0) for a, number in demand) for demand in demands)
    (first, _), (second, _) = demands[0]
    own, other = numbers.get(first, 0), numbers.get(second, 0)
    steps = [own, *(demand[0][1] for demand in demands)]
    return min(
        step
        - own
        + max((demand[1][1] - other for demand in demands if demand[0][1] > step), default=0)
        for step in steps
    )
