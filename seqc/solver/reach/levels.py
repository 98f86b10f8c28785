"""The cheapest whole numbers that meet conditions of the form "this one at least, or that one".

Each actuator has a level, zero at first. A demand is met if any of its actuators is at the level
that it names or above. The sum of all levels is to be least: a hitting set with thresholds, sought
depth first with a bound from demands that have no actuator in common.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

MOST_NODES = 20_000

Demand = tuple[tuple[int, int], ...]
"""Actuators, each with the level at which it meets the demand."""


@dataclass(frozen=True, slots=True)
class Levels:
    """The level of every actuator that is above zero, and a lower bound of their sum."""

    levels: dict[int, int]
    least: int

    @property
    def total(self) -> int:
        """The sum of the levels."""
        return sum(self.levels.values())


@dataclass(frozen=True, slots=True)
class _Node:
    """Levels that hold, actuators that stay below a level, and what is left to be met."""

    levels: dict[int, int]
    below: dict[int, int]
    left: tuple[Demand, ...]
    least: int


def cheapest_levels(demands: Iterable[Demand], effort: int = MOST_NODES) -> Levels:
    """Levels of the least sum that meet all demands, or good ones with a bound.

    Every demand must have an actuator.
    """
    everything = tuple(dict.fromkeys(demands))
    best = _greedy(everything)
    least = sum(best.values())
    waiting = [node] if (node := _settled({}, {}, everything)) else []
    while waiting and effort:
        effort -= 1
        node = waiting.pop()
        if node.least >= least:
            continue
        if not node.left:
            best, least = node.levels, node.least
            continue
        waiting += [child for child in _children(node) if child and child.least < least]
    bound = min((node.least for node in waiting), default=least)
    return Levels({actuator: best[actuator] for actuator in sorted(best)}, min(bound, least))


def _greedy(demands: Sequence[Demand]) -> dict[int, int]:
    node = _settled({}, {}, demands)
    while node and node.left:
        actuator, level = _busiest(node)
        node = _settled({**node.levels, actuator: level}, {}, node.left)
    assert node is not None
    return node.levels


def _children(node: _Node) -> tuple[_Node | None, _Node | None]:
    """The node with one actuator kept below a level, and with it raised to that level."""
    actuator, level = _busiest(node)
    kept = _settled(node.levels, {**node.below, actuator: level}, node.left)
    raised = _settled({**node.levels, actuator: level}, node.below, node.left)
    return kept, raised


def _busiest(node: _Node) -> tuple[int, int]:
    """The actuator that could meet the most of what is left, and the first level that does."""
    counts = Counter(actuator for demand in node.left for actuator, _ in demand)
    chosen = max(counts, key=lambda actuator: (counts[actuator], -actuator))
    return chosen, min(
        level for demand in node.left for actuator, level in demand if actuator == chosen
    )


def _settled(
    levels: Mapping[int, int], below: Mapping[int, int], demands: Sequence[Demand]
) -> _Node | None:
    """The node after every demand that one actuator alone can meet has raised it; None if lost."""
    levels = dict(levels)
    left = demands
    while True:
        left = tuple(
            tuple((a, level) for a, level in demand if level < below.get(a, level + 1))
            for demand in left
            if not any(levels.get(a, 0) >= level for a, level in demand)
        )
        if not all(left):
            return None
        forced = [demand[0] for demand in left if len(demand) == 1]
        if not forced:
            return _Node(levels, dict(below), left, sum(levels.values()) + _bound(levels, left))
        for actuator, level in forced:
            levels[actuator] = max(levels.get(actuator, 0), level)


def _bound(levels: Mapping[int, int], demands: Sequence[Demand]) -> int:
    """What demands that have no actuator in common cost at least, the dearest taken first."""
    by_actuators: dict[tuple[int, ...], list[Demand]] = {}
    for demand in demands:
        by_actuators.setdefault(tuple(actuator for actuator, _ in demand), []).append(demand)
    costs = [(_cost(levels, some), actuators) for actuators, some in by_actuators.items()]
    taken: set[int] = set()
    total = 0
    for cost, actuators in sorted(costs, key=lambda each: (-each[0], each[1])):
        if taken.isdisjoint(actuators):
            taken.update(actuators)
            total += cost
    return total


def _cost(levels: Mapping[int, int], demands: Sequence[Demand]) -> int:
    """What demands on the same actuators cost at least; exact for two actuators."""
    if len(demands[0]) != 2:
        return max(min(level - levels.get(a, 0) for a, level in demand) for demand in demands)
    (first, _), (second, _) = demands[0]
    own, other = levels.get(first, 0), levels.get(second, 0)
    steps = [own, *(demand[0][1] for demand in demands)]
    return min(
        step
        - own
        + max((demand[1][1] - other for demand in demands if demand[0][1] > step), default=0)
        for step in steps
    )
