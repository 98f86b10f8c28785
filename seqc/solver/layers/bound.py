"""How many pulses must still come, for many states of a pass at once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from seqc.machine.effort import Work
from seqc.solver.layers.coded_needs import CodedNeeds
from seqc.solver.layers.flips import FlipTable, Stops, chosen_stops, flip_nodes
from seqc.solver.layers.states import States
from seqc.solver.layers.words import Counts, count

MOST_STOPS = 15
FEW_NEEDS = 16
LEAST_STOPS = 8
TABLE_PART = 2
"""A table may take such a part of the work that is left."""


class LayerBound:
    """The bound by a table of some needs, the stops, and by what must move besides."""

    def __init__(self, coded: CodedNeeds, cliques: Sequence[int], passes: int, work: Work) -> None:
        self._coded = coded
        most = FEW_NEEDS if len(coded.needs) <= FEW_NEEDS else MOST_STOPS
        while most > LEAST_STOPS and flip_nodes(most) > work.left // TABLE_PART:
            most -= 1
        work.spend(flip_nodes(min(most, len(coded.needs))))
        self._stops = chosen_stops(cliques, coded.sizes, most)
        graph = [
            sum(1 << place for place, other in enumerate(self._stops) if mask >> other & 1)
            for mask in (coded.graph[stop] for stop in self._stops)
        ]
        chosen = Stops(coded.sure[:, self._stops], coded.sure_not[:, self._stops], graph)
        self._table = FlipTable(chosen, coded.start, coded.end, passes)

    def bounded(self, states: States, below: int) -> tuple[NDArray[np.intp], Counts]:
        """The states that may come to fewer pulses in all, by number, and how few."""
        kept = np.flatnonzero(states.pulses < below)
        states = states.of(kept)
        chosen, besides = self._besides(states)
        lower_bound = states.pulses + besides + self._table.still(chosen, states.at)
        promising = lower_bound < below
        return kept[promising], lower_bound[promising]

    def ahead(self, states: States) -> dict[int, Counts]:
        """For each stop the pulses that come if it is loaded next.

        Where it isn't left, they are too many for any order.
        """
        chosen, besides = self._besides(states)
        still = self._table.ahead(chosen, states.at)
        return {stop: besides + row for stop, row in zip(self._stops, still, strict=True)}

    def _besides(self, states: States) -> tuple[NDArray[np.intp], Counts]:
        """The set of stops that are left, and what must move that the table doesn't count."""
        chosen = _places(self._stops, states.left)
        sets, place = np.unique(states.left, return_inverse=True)
        sure, sure_not = (words[:, place] for words in self._coded.certain(sets))
        once = count(sure & ~sure_not & ~states.at)
        both = count(sure & sure_not & ~self._table.both[:, chosen]) // 2
        return chosen, once + both


def _places(stops: Sequence[int], left: NDArray[np.uint64]) -> NDArray[np.intp]:
    """The stops that are left, as a set by their places."""
    chosen = np.zeros(len(left), np.intp)
    for place, stop in enumerate(stops):
        chosen |= (left >> np.uint64(stop) & np.uint64(1)).astype(np.intp) << place
    return chosen
