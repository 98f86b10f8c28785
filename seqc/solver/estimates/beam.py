"""A good order of stops, led by the penalties of a bound, and a better bound.

Many beginnings are carried along at once, those that cost least more than the bound says (B.
Lowerre, The Harpy speech recognition system, 1976, calls this a beam). What a beginning costs are
its real pulses and the penalty of its history, less what the bound counts for entering its stops,
and less what is prepaid for the actuators that have crossed once. No way costs less than its
beginnings: the cheapest one that was left out is a bound of all those that weren't followed. Costs
are in 1/`FINE` pulses.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from seqc.solver.estimates.histories import FAR, common, words
from seqc.solver.estimates.penalties import Penalties
from seqc.solver.estimates.spanning import FINE

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from seqc.solver.estimates.histories import Words

    Costs = NDArray[np.int64]

SPARE = 3
"""So many candidates for each beginning that is kept; some of them come to the same."""

NEVER = FINE * FAR


@dataclass(frozen=True, slots=True)
class Led:
    """An order of the stops 0, 1, ...; no order takes fewer pulses than `lower_bound`."""

    order: list[int]
    lower_bound: int


@dataclass(slots=True)
class _Beginnings:
    """Beginnings: the positions held, the history, the extra cost, the places that are left.

    `prepaid` is what is not spent yet of what is prepaid for each crossing.
    """

    held: Words
    histories: NDArray[np.int32]
    extra: Costs
    left: NDArray[np.bool_]
    prepaid: NDArray[np.float32]

    def only(self, kept: NDArray[np.intp]) -> _Beginnings:
        """Some of them."""
        return _Beginnings(
            self.held[kept],
            self.histories[kept],
            self.extra[kept],
            self.left[kept],
            self.prepaid[kept],
        )


class _Places:
    """The places in words, and what the bound says of them."""

    def __init__(self, penalties: Penalties, last: Sequence[bool]) -> None:
        import numpy as np

        demands = penalties.histories.demands
        self.demand = words(demands < 0, demands > 0)
        self.spoken = words(demands != 0, demands != 0)
        self.closes = np.array([False, *last, False])
        self.after = penalties.histories.after
        self.penalties = penalties.fine
        self.entries: Costs = penalties.entries
        some = penalties.prepaid > 0
        self.prepaid = penalties.prepaid[some].astype(np.float32)
        self.far = penalties.crossings.far[:, some].astype(np.float32)
        self.marks = np.random.default_rng(0).integers(1 << 60, size=len(demands))

    def first(self, history: int) -> _Beginnings:
        import numpy as np

        left = np.ones((1, len(self.demand)), dtype=bool)
        left[:, [0, -1]] = False
        histories = np.array([history], dtype=np.int32)
        extra = np.zeros(1, dtype=np.int64)
        return _Beginnings(self.demand[:1], histories, extra, left, self.prepaid[None])

    @property
    def lower_bound(self) -> int:
        """What the bound counts for all places."""
        return int(self.entries.sum()) + int(self.prepaid.sum())

    def extra(self, beginnings: _Beginnings) -> Costs:
        """What each beginning costs more than the bound with each place next."""
        extra = self.costs(beginnings)
        extra -= self.penalties[self.after[beginnings.histories]]
        extra += (beginnings.extra + self.penalties[beginnings.histories])[:, None] - self.entries
        extra[~beginnings.left] = NEVER
        lonely = (beginnings.left & self.closes).sum(axis=1) == 1
        lonely &= beginnings.left.sum(axis=1) > 1
        extra[lonely[:, None] & self.closes] = NEVER
        return extra

    def costs(self, beginnings: _Beginnings) -> Costs:
        """Pulses from each beginning to each place, less what is prepaid for first crossings."""
        costs: Costs = FINE * common(~beginnings.held, self.demand).astype(int)
        costs -= (beginnings.prepaid @ self.far.T).astype(int)
        return costs

    def longer(
        self, before: _Beginnings, rows: NDArray[np.intp], places: NDArray[np.intp], extra: Costs
    ) -> _Beginnings:
        """Beginnings with one place more."""
        import numpy as np

        left = before.left[rows]
        left[np.arange(len(rows)), places] = False
        held = before.held[rows] & ~self.spoken[places] | self.demand[places]
        prepaid = before.prepaid[rows] * (1 - self.far[places])
        return _Beginnings(held, self.after[before.histories[rows], places], extra, left, prepaid)

    def different(self, beginnings: _Beginnings) -> NDArray[np.intp]:
        """The cheapest of those with the same places left and the same positions, in order."""
        import numpy as np

        pulses = beginnings.extra + self.penalties[beginnings.histories]
        held = beginnings.held.astype(np.int64) * (2 * np.arange(beginnings.held.shape[1]) + 1)
        key = beginnings.left @ self.marks + held.sum(axis=1)
        order = np.lexsort((pulses, key))
        here, next_to = order[1:], order[:-1]
        same = (beginnings.left[here] == beginnings.left[next_to]).all(axis=1)
        same &= (beginnings.held[here] == beginnings.held[next_to]).all(axis=1)
        kept: NDArray[np.intp] = np.sort(order[np.concatenate([[True], ~same])])
        return kept


def guided_order(penalties: Penalties, last: Sequence[bool], width: int) -> Led:
    """The best order met with so many beginnings; a stop marked in `last` comes last."""
    places = _Places(penalties, last)
    beam = places.first(penalties.histories.first)
    left_out = NEVER
    taken = []
    for _ in last:
        rows, chosen, beam, cheapest = _step(beam, places, width)
        taken.append((rows, chosen))
        left_out = min(left_out, cheapest)
    total = (
        beam.extra + places.penalties[beam.histories] - places.penalties[penalties.histories.first]
    )
    total += places.costs(beam)[:, -1] + places.lower_bound - places.entries[[0, -1]].sum()
    number = int(total.argmin())
    lower_bound = min(int(total[number]), left_out + places.lower_bound)
    return Led(_traced(taken, number), -(-lower_bound // FINE))


def _step(
    beam: _Beginnings, places: _Places, width: int
) -> tuple[NDArray[np.intp], NDArray[np.intp], _Beginnings, int]:
    """All beginnings one place longer, the cheapest of them, and what those left out cost."""
    import numpy as np

    extra = places.extra(beam)
    flat = extra.ravel()
    few = min(SPARE * width, len(flat))
    order = np.argpartition(flat, few - 1)
    left_out = int(flat[order[few:]].min(initial=NEVER))
    order = order[:few][flat[order[:few]] < NEVER // 2]
    order = order[np.lexsort((order, flat[order]))]
    rows, chosen = np.divmod(order, extra.shape[1])
    longer = places.longer(beam, rows, chosen, flat[order])
    kept = places.different(longer)
    left_out = min(left_out, int(longer.extra[kept[width:]].min(initial=NEVER)))
    kept = kept[:width]
    return rows[kept], chosen[kept], longer.only(kept), left_out


def _traced(taken: Sequence[tuple[NDArray[np.intp], NDArray[np.intp]]], number: int) -> list[int]:
    """The stops of one of the last beginnings, from its end back."""
    order = []
    for before, places in reversed(taken):
        order.append(int(places[number]) - 1)
        number = int(before[number])
    return order[::-1]
