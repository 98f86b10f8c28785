"""An order of groups made better by exchange, by the pulses that it really takes.

Groups change places and stretches of the order are turned round, at random; worse orders are let
through less and less (S. Kirkpatrick, C. Gelatt, M. Vecchi, Optimization by simulated annealing,
1983).
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from seqc.solver.sections.load import SectionLoad

EFFORT = 400_000_000
"""So many groups are loaded in all, counted in every section; some 10 ns each."""

BESIDES = 2_000
"""A pass of some orders takes as long besides as so many groups."""

AT_ONCE = 40
"""So many steps from one order are looked at together; the first one let through is taken."""

HOTTEST = 1.2
COLDEST = 0.4
"""The heat, at first and at last: a step to so many pulses more is let through once in e times."""

Orders = NDArray[np.intp]


def exchanged(load: SectionLoad, order: tuple[int, ...], least: int) -> tuple[tuple[int, ...], int]:
    """An order of the same groups at least as good as one, and its pulses; it ends at the least.

    The last group of the order must be one that can be, and so is that of the order found.
    """
    random = np.random.default_rng(len(order))
    places = steps(len(order))
    best = current = np.array(order, np.intp)
    best_pulses = pulses = int(load.pulses_of(best[None])[0])
    rounds = EFFORT // (len(order) * (AT_ONCE * len(load.sections) + BESIDES)) if len(places) else 0
    for heat in np.geomspace(HOTTEST, COLDEST, rounds):
        if best_pulses <= least:
            break
        near = current[places[random.integers(len(places), size=AT_ONCE)]]
        near = near[load.closing[near[:, -1]]]
        taken = load.pulses_of(near)
        let_through = np.flatnonzero(taken <= pulses + heat * random.exponential(size=len(near)))
        if len(let_through):
            current, pulses = near[let_through[0]], int(taken[let_through[0]])
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
