"""A short way through many stops: the nearest next one first, then exchanges until none helps.

Two exchanges are tried, to reverse a stretch (G. Croes, 1958), and to move a stretch of up to three
stops elsewhere (I. Or, 1976). Then stretches are changed about
at random, always in the same way, and the exchanges tried again (O. Martin, S. Otto, E. Felten,
Large-step Markov chains for the traveling salesman problem, 1991).
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from random import Random

from seqc.machine.effort import Work

Steps = Sequence[Sequence[int]]
LONGEST_STRETCH = 3
KICKS = 300
PAIRS = 64
"""It is as much work as a node to look at so many exchanges."""

LONGEST_KICK = 30


def short_way(steps: Steps, last: Sequence[int | None], work: Work) -> list[int] | None:
    """The stops 0, 1, ... in a good order, or None if no stop may be last.

    Row and column 0 of `steps` are the start, stop j is row j + 1. `last[j]` is added when the way
    ends at stop j; where it is None it may not.
    """
    ends = [stop for stop, length in enumerate(last) if length is not None]
    if not ends:
        return None
    far = 1 + sum(map(max, steps)) + max(length or 0 for length in last)
    closed = [[*row, 0] for row in steps]
    tail = [0, *(far if length is None else length for length in last), 0]
    for row, length in zip(closed, tail, strict=False):
        row[-1] = length
    closed.append(tail)
    way = _improved(_nearest(closed), closed)
    best = _length(way, closed)
    random = Random(0)
    nodes = len(way) ** 2 // PAIRS + 1
    for _ in range(KICKS if len(last) > 2 * LONGEST_STRETCH else 0):
        if work.over:
            break
        work.spend(nodes)
        other = _improved(_kicked(way, random), closed)
        length = _length(other, closed)
        if length <= best:
            way, best = other, length
    return [stop - 1 for stop in way[1:-1]]


def _length(way: Sequence[int], steps: Steps) -> int:
    return sum(steps[a][b] for a, b in itertools.pairwise(way))


def _kicked(way: Sequence[int], random: Random) -> list[int]:
    """Two neighbouring stretches changed about: what the two exchanges don't undo."""
    first = random.randrange(1, len(way) - 4)
    cut, end = sorted(random.sample(range(first + 1, min(len(way), first + LONGEST_KICK)), 2))
    return [*way[:first], *way[cut:end], *way[first:cut], *way[end:]]


def _nearest(steps: Steps) -> list[int]:
    """From the start to the nearest stop not yet visited, and so on; the end comes last."""
    end = len(steps) - 1
    left = list(range(1, end))
    way = [0]
    while left:
        here = steps[way[-1]]
        chosen = min(left, key=lambda stop: (here[stop], stop))
        left.remove(chosen)
        way.append(chosen)
    return [*way, end]


def _improved(way: list[int], steps: Steps) -> list[int]:
    better = True
    while better:
        better = _reverse_one(way, steps) or _move_one(way, steps)
    return way


def _reverse_one(way: list[int], steps: Steps) -> bool:
    for i in range(1, len(way) - 2):
        before, first = steps[way[i - 1]], steps[way[i]]
        for j in range(i + 1, len(way) - 1):
            old = before[way[i]] + steps[way[j]][way[j + 1]]
            if before[way[j]] + first[way[j + 1]] < old:
                way[i : j + 1] = way[i : j + 1][::-1]
                return True
    return False


def _move_one(way: list[int], steps: Steps) -> bool:
    for length in range(1, LONGEST_STRETCH + 1):
        for i in range(1, len(way) - length):
            stretch = way[i : i + length]
            rest = way[:i] + way[i + length :]
            won = steps[way[i - 1]][stretch[0]] + steps[stretch[-1]][way[i + length]]
            won -= steps[way[i - 1]][way[i + length]]
            place = _better_place(rest, stretch, steps, won)
            if place:
                way[:] = rest[:place] + stretch + rest[place:]
                return True
    return False


def _better_place(rest: list[int], stretch: list[int], steps: Steps, won: int) -> int:
    """Where to put the stretch so that the way gets shorter; 0 if nowhere."""
    first, last = steps[stretch[0]], steps[stretch[-1]]
    for place in range(1, len(rest)):
        before, after = rest[place - 1], rest[place]
        if first[before] + last[after] - steps[before][after] < won:
            return place
    return 0
