"""Which sets of cells can be tied by a linkage of some shape."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from seqc.linkages.question import Shape

Spot = tuple[int, int]


def neighbours(spot: Spot) -> tuple[Spot, ...]:
    """The places that share an edge with one."""
    row, column = spot
    return (row - 1, column), (row + 1, column), (row, column - 1), (row, column + 1)


def in_line(spots: Sequence[Spot]) -> bool:
    """Whether all lie in one row or one column."""
    return any(len({spot[way] for spot in spots}) <= 1 for way in (0, 1))


def is_connected(spots: Iterable[Spot], through: Iterable[Spot] = ()) -> bool:
    """Whether one gets from each place to each other over shared edges, `through` others too."""
    left = set(spots)
    if not left:
        return True
    ground = left | set(through)
    waiting = [min(left)]
    ground.discard(waiting[0])
    while waiting:
        spot = waiting.pop()
        left.discard(spot)
        for beside in neighbours(spot):
            if beside in ground:
                ground.discard(beside)
                waiting.append(beside)
    return not left


def allows(shape: Shape, spots: Sequence[Spot]) -> bool:
    """Whether a linkage of this shape can tie these cells."""
    match shape:
        case Shape.ANY:
            return True
        case Shape.CONNECTED:
            return is_connected(spots)
        case Shape.LINE:
            return in_line(spots)
        case Shape.RUN:
            return in_line(spots) and is_connected(spots)


def may_grow(shape: Shape, spots: Sequence[Spot], later: Iterable[Spot]) -> bool:
    """Whether some of the cells to come `later`, in reading order, can make the shape whole."""
    match shape:
        case Shape.ANY:
            return True
        case Shape.LINE:
            return in_line(spots)
        case Shape.CONNECTED:
            return is_connected(spots, later)
        case Shape.RUN:
            return in_line(spots) and is_connected(spots)


def length(spots: Sequence[Spot]) -> int:
    """The least length of a linkage, in cell pitches: a spanning tree along rows and columns.

    R. C. Prim, Shortest connection networks and some generalizations, 1957.
    """
    near = {spot: _apart(spot, spots[0]) for spot in spots[1:]}
    total = 0
    while near:
        spot = min(near, key=lambda each: (near[each], each))
        total += near.pop(spot)
        for other, distance in near.items():
            near[other] = min(distance, _apart(spot, other))
    return total


def _apart(one: Spot, other: Spot) -> int:
    return abs(one[0] - other[0]) + abs(one[1] - other[1])
