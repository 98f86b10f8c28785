"""A lower bound of the way through all stops, from trails with tolls.

Each place is entered once. Let a step pay the toll of the trail that it leaves and get back that of
the trail to which it leads: over a whole round the tolls come to nothing, so the sum over all
places of the cheapest step into each is a lower bound, whatever the tolls. They are made better
along the slope of a smooth form of that sum, in which a place is entered by each step with a
share that falls with its cost (Lagrangean relaxation; Y. Nesterov, Smooth minimization of
non-smooth functions, 2005). Then trails get longer where the way leads, and so on: N. Boland,
J. Dethridge and I. Dumitrescu, Accelerated label setting algorithms for the elementary resource
constrained shortest path problem, 2006, do so for paths. What is prepaid for crossings is made
better in the same way, and comes on top of the sum.

Tolls are whole numbers of 1/`FINE` pulses wherever a bound is taken from them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from seqc.solver.estimates.climb import Climb
from seqc.solver.estimates.crossings import Crossings
from seqc.solver.estimates.spanning import FINE
from seqc.solver.estimates.trails import Trail, Trails

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

FREQUENT = 3
PREPAID_STRIDE = 0.5
"""By so many strides what is prepaid changes; a toll changes by one."""


@dataclass(frozen=True, slots=True)
class Stage:
    """So many turns with the steps that cost `within` pulses more than the cheapest at most.

    `heat` is the extra cost at which a step's share falls to a third, `stride` what a toll changes
    by in a turn; both go from the first value to the second.
    """

    turns: int
    within: float
    heat: tuple[float, float]
    stride: tuple[float, float]

    def at(self, turn: int) -> tuple[float, float]:
        """Heat and stride of a turn."""
        gone = turn / self.turns
        (hot, cold), (wide, narrow) = self.heat, self.stride
        return hot * (cold / hot) ** gone, wide * (narrow / wide) ** gone


@dataclass(frozen=True, slots=True)
class Shares:
    """Some steps by trail, place and the trail after, and the share of each; ordered by place."""

    trails: NDArray[np.intp]
    places: NDArray[np.intp]
    after: NDArray[np.int32]
    share: NDArray[np.float64]


class Tolls:
    """The tolls of all trails, what is prepaid, and the best bound that they have given."""

    def __init__(self, trails: Trails) -> None:
        self.trails = trails
        self.crossings = Crossings(trails)
        self._tolls = Climb(len(trails.names))
        self._prepaid = Climb(self.crossings.count)
        cheapest = trails.steps[:, 1:].argmin(axis=0)
        crossed = self.crossings.near[cheapest] & self.crossings.far[1:]
        self._leave_frequent(crossed.sum(axis=0))
        self.least = 0
        self.spent = 0
        self._note()

    @property
    def fine(self) -> NDArray[np.int32]:
        """The tolls in 1/`FINE` pulses."""
        return _fine(self._tolls.values)

    @property
    def prepaid(self) -> NDArray[np.int32]:
        """What is prepaid for each crossing, in 1/`FINE` pulses, at most a whole pulse."""
        return _fine(self._prepaid.values)

    @property
    def entries(self) -> NDArray[np.int64]:
        """What it costs to enter each place at least, tolls and all, in 1/`FINE` pulses."""
        cheapest: NDArray[np.int64] = self._costs().min(axis=0).astype(int)
        return cheapest

    def _costs(self) -> NDArray[np.int32]:
        """Steps with tolls from every trail to every place, in 1/`FINE` pulses."""
        import numpy as np

        tolls = self.fine
        costs: NDArray[np.int32] = FINE * self.trails.steps.astype(np.int32)
        costs += tolls[:, None]
        costs -= tolls[self.trails.after]
        costs -= self.crossings.savings(self.prepaid)
        self.spent += costs.size
        return costs

    def _note(self) -> None:
        total = int(self.entries.sum()) + int(self.prepaid.sum())
        self.least = max(self.least, -(-total // FINE))

    def _leave_frequent(self, times: NDArray[np.floating | np.integer]) -> None:
        """Prepay no more for what crosses often anyway."""
        kept = (times < FREQUENT) | (self._prepaid.values > 0)
        self.crossings.keep(kept)
        self._prepaid.keep(kept)

    def improve(self, stage: Stage) -> Shares:
        """Better tolls, and the share that each step has in the end."""
        import numpy as np

        costs = self._costs()
        near = costs < costs.min(axis=0) + int(FINE * stage.within)
        places, trails = np.nonzero(near.T)
        after = self.trails.after[trails, places]
        steps = self.trails.steps[trails, places].astype(float)
        begins = np.searchsorted(places, np.arange(self.trails.places))
        crossing, crossed = self.crossings.met(trails, places)
        count, actuators = len(self.trails.names), self.crossings.count
        self._tolls.rest()
        self._prepaid.rest()
        for turn in range(stage.turns):
            heat, stride = stage.at(turn)
            cost = steps + self._tolls.values[trails] - self._tolls.values[after]
            cost -= np.bincount(crossing, self._prepaid.values[crossed], len(steps))
            share = np.exp((np.minimum.reduceat(cost, begins)[places] - cost) / heat)
            share /= np.add.reduceat(share, begins)[places]
            slope = np.bincount(trails, share, count) - np.bincount(after, share, count)
            self._tolls.step(slope, stride)
            times = np.bincount(crossed, share[crossing], actuators)
            self._prepaid.step(1 - times, PREPAID_STRIDE * stride)
            self._prepaid.clip(0, 1)
        self._leave_frequent(times)
        self.spent += stage.turns * len(steps)
        self._note()
        return Shares(trails, places, after, share)

    def lengthen(self, shares: Shares, least_share: float) -> int:
        """Longer trails where steps have at least such a share; how many are new."""
        import numpy as np

        names: dict[Trail, None] = {}
        for step in np.flatnonzero(shares.share > least_share):
            name = self.trails.lengthened(int(shares.trails[step]), int(shares.places[step]))
            if name is not None:
                names[name] = None
        if names:
            parents = self.trails.add(list(names))
            self._tolls.grow(parents)
        return len(names)


def _fine(values: NDArray[np.float64]) -> NDArray[np.int32]:
    import numpy as np

    return np.rint(FINE * values).astype(np.int32)
