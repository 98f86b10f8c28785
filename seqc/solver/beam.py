"""A good order of stops, led by the tolls of a bound.

Many beginnings are carried along at once, those that cost least more than the bound says
(B. Lowerre, The Harpy speech recognition system, 1976, calls this a beam). What a beginning costs
are its real pulses and the toll of its trail, less what the bound counts for entering its stops.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from seqc.solver.tolls import Tolls
from seqc.solver.trails import FAR, common, words

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from seqc.solver.trails import Words

SPARE = 3
"""So many candidates for each beginning that is kept; some of them come to the same."""


@dataclass(frozen=True)
class _Stops:
    """The places in words: what each wants, and both bits of the actuators that it speaks of."""

    want: Words
    spoken: Words

    def missing(self, held: Words) -> NDArray[np.int16]:
        """Pulses from each of several positions to each place."""
        return common(~held, self.want)


@dataclass(slots=True)
class _Beam:
    """Beginnings: the positions held, the trail, the extra cost, what is left, marks of the set."""

    held: Words
    trails: NDArray[np.int32]
    extra: NDArray[np.float64]
    left: NDArray[np.bool_]
    marks: NDArray[np.int64]


def guided_order(tolls: Tolls, last: Sequence[bool], width: int) -> list[int]:
    """The stops 0, 1, ... in order; only one of those marked in `last` comes last."""
    import numpy as np

    trails = tolls.trails
    stops, wants = trails.places - 2, trails.wants
    entries = tolls.entries
    closes = np.array([False, *last, False])
    # Sums of random numbers stand for sets, so that equal ones are found at once.
    marks = np.random.default_rng(0).integers(1 << 40, size=trails.places)
    places = _Stops(words(wants < 0, wants > 0), words(wants != 0, wants != 0))
    beam = _first(tolls, places)
    history = []
    for step in range(stops):
        extra = _extra(beam, tolls, places.missing(beam.held), entries)
        if step < stops - 1:
            extra[np.ix_((beam.left & closes).sum(axis=1) == 1, closes)] = FAR
        before, chosen = _best(beam, extra, marks, tolls, width)
        history.append((before, chosen))
        left = beam.left[before]
        left[np.arange(len(before)), chosen] = False
        beam = _Beam(
            beam.held[before] & ~places.spoken[chosen] | places.want[chosen],
            trails.after[beam.trails[before], chosen],
            extra[before, chosen],
            left,
            beam.marks[before] + marks[chosen],
        )
    total = beam.extra - tolls.tolls[beam.trails] + places.missing(beam.held)[:, -1]
    return _traced(history, int(total.argmin()))


def _first(tolls: Tolls, places: _Stops) -> _Beam:
    import numpy as np

    left = np.ones((1, len(places.want)), dtype=bool)
    left[:, [0, -1]] = False
    trail = np.array([tolls.trails.first], dtype=np.int32)
    return _Beam(places.want[:1], trail, np.zeros(1), left, np.zeros(1, dtype=np.int64))


def _extra(
    beam: _Beam, tolls: Tolls, missing: NDArray[np.int16], entries: NDArray[np.float64]
) -> NDArray[np.float64]:
    """What each beginning costs more than the bound with each place next."""
    extra: NDArray[np.float64] = missing - tolls.tolls[tolls.trails.after[beam.trails]]
    extra += (beam.extra + tolls.tolls[beam.trails])[:, None] - entries
    extra[~beam.left] = FAR
    return extra


def _best(
    beam: _Beam,
    extra: NDArray[np.float64],
    marks: NDArray[np.int64],
    tolls: Tolls,
    width: int,
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """The beginnings and next places that cost least; one for each set of stops and trail."""
    import numpy as np

    flat = extra.ravel()
    few = min(SPARE * width, len(flat))
    order = np.argpartition(flat, few - 1)[:few]
    order = order[flat[order] < FAR / 2]
    order = order[np.lexsort((order, flat[order]))]
    before, places = np.divmod(order, extra.shape[1])
    sets = beam.marks[before] + marks[places]
    keys = sets * len(tolls.tolls) + tolls.trails.after[beam.trails[before], places]
    first = np.sort(np.unique(keys, return_index=True)[1])[:width]
    return before[first], places[first]


def _traced(history: Sequence[tuple[NDArray[np.intp], NDArray[np.intp]]], number: int) -> list[int]:
    """The stops of one of the last beginnings, from its end back."""
    order = []
    for before, places in reversed(history):
        order.append(int(places[number]) - 1)
        number = int(before[number])
    return order[::-1]
