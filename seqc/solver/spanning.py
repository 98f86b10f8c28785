"""A lower bound of a way through many stops: it is a spanning tree, so at least as long as one."""

from __future__ import annotations

from collections.abc import Sequence


def spanning_bound(steps: Sequence[Sequence[int]]) -> int:
    """The length of the least spanning tree (R. C. Prim, 1957)."""
    near = list(steps[0])
    left = set(range(1, len(steps)))
    total = 0
    while left:
        chosen = min(left, key=lambda stop: (near[stop], stop))
        left.remove(chosen)
        total += near[chosen]
        for stop in left:
            near[stop] = min(near[stop], steps[chosen][stop])
    return total
