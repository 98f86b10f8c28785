"""A lower bound of the way through all stops, from trails with tolls.

Each place is entered once. Let a step pay the toll of the trail that it leaves and get back that of
the trail to which it leads: over a whole round the tolls come to nothing, so the sum over all
places of the cheapest step into each is a lower bound, whatever the tolls. They are made better
along the slope of a smooth form of that sum, in which a place is entered by each step with a
share that falls with its cost (Lagrangean relaxation; Y. Nesterov, Smooth minimization of
non-smooth functions, 2005; the pace by D. Kingma and J. Ba, Adam, 2014). Then trails get longer
where the way leads, and so on: N. Boland, J. Dethridge and I. Dumitrescu, Accelerated label setting
algorithms for the elementary resource constrained shortest path problem, 2006, do so for paths.

Tolls are whole numbers of 1/`FINE` pulses wherever a bound is taken from them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from seqc.solver.spanning import FINE
from seqc.solver.trails import Trail, Trails

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

MOMENTUM = 0.9
PACE = 0.98
SLOWEST = 0.01


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


@dataclass(frozen=True, slots=True)
class Shares:
    """Some steps by trail, place and the trail after, and the share of each; ordered by place."""

    trails: NDArray[np.intp]
    places: NDArray[np.intp]
    after: NDArray[np.int32]
    share: NDArray[np.float64]


class Tolls:
    """The tolls of all trails, and the best bound that they have given."""

    def __init__(self, trails: Trails) -> None:
        import numpy as np

        self.trails = trails
        self.tolls = np.zeros(len(trails.names))
        self._pace = np.zeros(len(trails.names))
        self.least = 0
        self.spent = 0
        self._note(self._costs())

    @property
    def fine(self) -> NDArray[np.int32]:
        """The tolls in 1/`FINE` pulses."""
        import numpy as np

        return np.rint(FINE * self.tolls).astype(np.int32)

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
        self.spent += costs.size
        return costs

    def _note(self, costs: NDArray[np.int32]) -> None:
        self.least = max(self.least, -(-int(costs.min(axis=0).sum()) // FINE))

    def improve(self, stage: Stage) -> Shares:
        """Better tolls, and the share that each step has in the end."""
        import numpy as np

        costs = self._costs()
        near = costs < costs.min(axis=0) + int(FINE * stage.within)
        places, trails = np.nonzero(near.T)
        after = self.trails.after[trails, places]
        steps = self.trails.steps[trails, places].astype(float)
        begins = np.searchsorted(places, np.arange(self.trails.places))
        count = len(self.tolls)
        drift = np.zeros(count)
        for turn in range(stage.turns):
            gone = turn / stage.turns
            heat, stride = (
                first * (last / first) ** gone for first, last in (stage.heat, stage.stride)
            )
            cost = steps + self.tolls[trails] - self.tolls[after]
            share = np.exp((np.minimum.reduceat(cost, begins)[places] - cost) / heat)
            share /= np.add.reduceat(share, begins)[places]
            slope = np.bincount(trails, share, count) - np.bincount(after, share, count)
            drift = MOMENTUM * drift + (1 - MOMENTUM) * slope
            self._pace = PACE * self._pace + (1 - PACE) * slope * slope
            even = 1 - MOMENTUM ** (turn + 1)
            self.tolls += stride / even * drift / (np.sqrt(self._pace) + SLOWEST)
        self.spent += stage.turns * len(steps)
        self._note(self._costs())
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
            self.tolls = np.concatenate([self.tolls, self.tolls[parents]])
            self._pace = np.concatenate([self._pace, self._pace[parents]])
        return len(names)
