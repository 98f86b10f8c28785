"""A lower bound of the way from a start through many stops, by spanning trees with prices.

The way is a spanning tree of the start and the stops in which every stop but the last has two
neighbours. Give each place a price that is paid at both ends of every step: all ways get dearer
alike, trees that crowd at one place more than others. The least tree less the prices is a bound;
the prices go up where a tree has too many neighbours and down where it has too few.

M. Held and R. M. Karp, The traveling-salesman problem and minimum spanning trees, 1970 and 1971.
Prices are whole numbers of 1/`FINE` pulses.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

Steps = Sequence[Sequence[int]]

FINE = 1_000
ROUNDS = 600
PATIENCE = 16
FIRST_STRIDE = 128


@dataclass(frozen=True, slots=True)
class _Tree:
    """A least tree with the way out from it: its cost, and the neighbours of each place."""

    cost: int
    neighbours: Sequence[int]


def spanning_bound(steps: Steps, last: Sequence[int | None], enough: int) -> int:
    """No way is shorter than this; the search for better prices stops at `enough`.

    Row and column 0 of `steps` are the start, stop j is row j + 1. `last[j]` is added when the way
    ends at stop j; where it is None it may not.
    """
    fine = [[FINE * step for step in row] for row in steps]
    out = [None if length is None else FINE * length for length in last]
    prices = [0] * len(steps)
    best, stride, since = 0, FIRST_STRIDE, 0
    for _ in range(ROUNDS):
        tree = _least_tree(fine, out, prices)
        bound = tree.cost - 2 * sum(prices)
        since = 0 if bound > best else since + 1
        best = max(best, bound)
        if -(-best // FINE) >= enough or not stride:
            break
        if since == PATIENCE:
            stride, since = stride * 2 // 3, 0
        prices = _better(prices, tree, stride * (FINE * enough - bound))
    return -(-best // FINE)


def _better(prices: list[int], tree: _Tree, stride: int) -> list[int]:
    crowds = [neighbours - 2 for neighbours in tree.neighbours]
    size = sum(crowd * crowd for crowd in crowds)
    if not size:
        return prices
    return [
        price + crowd * stride // (FIRST_STRIDE * size)
        for price, crowd in zip(prices, crowds, strict=True)
    ]


def _least_tree(steps: Steps, out: Sequence[int | None], prices: Sequence[int]) -> _Tree:
    """R. C. Prim's tree, 1957, from the start, with one way in to the start and one way out."""
    count = len(steps)
    neighbours = [0] * count
    neighbours[0] = 1
    left = list(range(1, count))
    near = [steps[0][stop] + prices[0] + prices[stop] for stop in range(count)]
    parent = [0] * count
    cost = prices[0]
    while left:
        chosen = min(left, key=near.__getitem__)
        left.remove(chosen)
        cost += near[chosen]
        neighbours[chosen] += 1
        neighbours[parent[chosen]] += 1
        row, price = steps[chosen], prices[chosen]
        for stop in left:
            step = row[stop] + price + prices[stop]
            if step < near[stop]:
                near[stop] = step
                parent[stop] = chosen
    length, exit_stop = min(
        (length + prices[stop], stop) for stop, length in enumerate(out, 1) if length is not None
    )
    neighbours[exit_stop] += 1
    return _Tree(cost + length, neighbours)
