"""Which states of a pass may be forgotten: those of which another one is as good."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from seqc.solver.layers.coded_needs import CodedNeeds
from seqc.solver.layers.states import States
from seqc.solver.layers.words import count

RIVALS = 12
FEW_RIVALS = 3
FAR = 10_000


def cheapest(keys: Sequence[NDArray[np.integer]], pulses: NDArray[np.integer]) -> NDArray[np.intp]:
    """Of states with equal keys the one with the fewest pulses, by number."""
    order = np.lexsort((pulses, *keys))
    new = np.ones(len(order), bool)
    new[1:] = np.any([key[order[1:]] != key[order[:-1]] for key in keys], axis=0)
    return order[new]


def merged(states: States) -> States:
    """Of equal states the one with the fewest pulses."""
    return states.of(cheapest((*states.at, states.left), states.pulses))


def undominated(states: States) -> States:
    """The states whose positions aren't reached as cheaply from a rival with the same left."""
    states = states.of(np.lexsort((states.pulses, states.left)))
    new = np.ones(len(states.left), bool)
    new[1:] = states.left[1:] != states.left[:-1]
    first = np.flatnonzero(new)[np.cumsum(new) - 1]
    kept = np.arange(len(new))
    for rank in range(RIVALS):
        rivals = first[kept] + rank
        moves = np.full(len(kept), FAR, np.int16)
        later = np.flatnonzero(rivals < kept)
        rival = rivals[later]
        moves[later] = count(states.at[:, kept[later]] & ~states.at[:, rival])
        moves[later] += states.pulses[rival]
        kept = kept[moves > states.pulses[kept]]
    return states.of(kept)


def uncovered(states: States, coded: CodedNeeds) -> States:
    """The states of which no rival, with one need less left, is as good."""
    sets, first, size = np.unique(states.left, return_index=True, return_counts=True)
    number = np.repeat(np.arange(len(sets)), size)
    cared_for = coded.wishes(sets).cared_for
    kept = np.arange(len(states.left))
    for need in range(len(coded.needs)):
        less = sets & ~(np.uint64(1) << np.uint64(need))
        place = np.minimum(np.searchsorted(sets, less), len(sets) - 1)
        there = (sets[place] == less) & (less != sets)
        for rank in range(FEW_RIVALS):
            later = np.flatnonzero((there & (rank < size[place]))[number[kept]])
            mine = kept[later]
            other = place[number[mine]]
            rival = first[other] + rank
            moves = count(states.at[:, mine] & ~states.at[:, rival] & cared_for[:, other])
            worse = states.pulses[rival] + moves <= states.pulses[mine]
            kept = np.delete(kept, later[worse])
    return states.of(kept)
