"""An order of groups made better by exchange, by the pulses that it really takes.

Groups change places and stretches of the order are turned round, the best of all such steps first.
Where none makes the order better, a few groups are moved at random and it goes on from there
(iterated local search: H. R. Lourenco, O. C. Martin and T. Stuetzle, Iterated local search, 2003).
"""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

import numpy as np
from numpy.typing import NDArray

from seqc.solver.sections.load import SectionLoad

EFFORT = 100_000_000
"""So many groups are loaded in all, counted in every section; some 20 ns each."""

BESIDES = 700
"""A look at several orders takes as long as that at so many more."""

MOST_STEPS = 1_500
"""So many steps are tried from one order."""

MOVED = 3
"""So many groups are moved at random."""

Orders = NDArray[np.intp]


def exchanged(load: SectionLoad, order: tuple[int, ...], least: int) -> tuple[tuple[int, ...], int]:
    """An order of the same groups at least as good as one, and its pulses; it ends at the least.

    The last group of the order must be one that can be, and so is that of the order found.
    """
    random = Random(len(order))
    places = steps(len(order))
    best = current = np.array(order, np.intp)
    best_pulses = pulses = int(load.pulses_of(best[None])[0])
    effort = EFFORT // max(1, len(order) * len(load.sections))
    while effort > 0 and best_pulses > least and len(places):
        near = current[_some(places, random)]
        near = near[load.closing[near[:, -1]]]
        effort -= len(near) + BESIDES
        taken = load.pulses_of(near)
        if len(near) and int(taken.min()) < pulses:
            current, pulses = near[taken.argmin()], int(taken.min())
            continue
        if pulses <= best_pulses:
            best, best_pulses = current, pulses
        shaken = _shaken(best, random)
        current = shaken if load.closing[shaken[-1]] else best
        pulses = int(load.pulses_of(current[None])[0])
    if pulses < best_pulses:
        best, best_pulses = current, pulses
    return tuple(best.tolist()), best_pulses


def steps(count: int) -> Orders:
    """The places of an order after each step: one moved elsewhere, or a stretch turned round.

    A row for each step.
    """
    return np.array(list(_steps(count)), np.intp).reshape(-1, count)


def _steps(count: int) -> Iterator[list[int]]:
    places = list(range(count))
    for first in places:
        rest = places[:first] + places[first + 1 :]
        for to in places:
            if to != first:
                yield [*rest[:to], first, *rest[to:]]
        for last in places[first + 2 :]:
            yield [*places[:first], *reversed(places[first : last + 1]), *places[last + 1 :]]


def _some(places: Orders, random: Random) -> Orders:
    if len(places) <= MOST_STEPS:
        return places
    return places[random.sample(range(len(places)), MOST_STEPS)]


def _shaken(order: Orders, random: Random) -> Orders:
    """Some groups somewhere else."""
    groups = order.tolist()
    for _ in range(MOVED):
        groups.insert(random.randrange(len(groups)), groups.pop(random.randrange(len(groups))))
    return np.array(groups, np.intp)
