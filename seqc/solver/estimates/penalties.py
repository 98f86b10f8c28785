"""A lower bound of the way through all stops, from histories with penalties.

Each place is entered once. Let a step pay the penalty of the history that it leaves and get back
that of the history to which it leads: over a whole round the penalties come to nothing, so the sum
over all places of the cheapest step into each is a lower bound, whatever they are. They are made
better along the slope of a smooth form of that sum, in which a place is entered by each step with a
share that falls with its cost (Lagrangean relaxation; Y. Nesterov, Smooth minimization of
non-smooth functions, 2005). Then histories get longer where the way leads, and so on: N. Boland, J.
Dethridge and I. Dumitrescu, Accelerated label setting algorithms for the elementary resource
constrained shortest path problem, 2006, do so for paths. What is prepaid for crossings is made
better in the same way, and comes on top of the sum.

Penalties are whole numbers of 1/`FINE` pulses wherever a bound is taken from them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from seqc.machine.effort import Work
from seqc.solver.estimates.ascent import Stage, Steps, ascend
from seqc.solver.estimates.climb import Climb
from seqc.solver.estimates.crossings import Crossings
from seqc.solver.estimates.histories import Histories, History
from seqc.solver.estimates.spanning import FINE

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from seqc.solver.estimates.ascent import Values

FREQUENT = 3
LOOKED_AT = 3_000
"""It is as much work as a node to look at so many steps."""


@dataclass(frozen=True, slots=True)
class Shares:
    """Some steps, and the share of each."""

    steps: Steps
    share: Values


class Penalties:
    """The penalties of all histories, what is prepaid, and the best bound that they have given."""

    def __init__(self, histories: Histories, work: Work) -> None:
        import numpy as np

        self.histories = histories
        self.work = work
        self.crossings = Crossings(histories)
        self._penalties = Climb(np.zeros(len(histories.names)))
        self._prepaid = Climb(np.zeros(self.crossings.count))
        cheapest = histories.steps[:, 1:].argmin(axis=0)
        crossed = self.crossings.near[cheapest] & self.crossings.far[1:]
        self._leave_frequent(crossed.sum(axis=0))
        self.lower_bound = 0
        self._note()

    @property
    def fine(self) -> NDArray[np.int32]:
        """The penalties in 1/`FINE` pulses."""
        return _fine(self._penalties.values)

    @property
    def prepaid(self) -> NDArray[np.int32]:
        """What is prepaid for each crossing, in 1/`FINE` pulses, at most a whole pulse."""
        return _fine(self._prepaid.values)

    @property
    def entries(self) -> NDArray[np.int64]:
        """What it costs to enter each place at least, penalties and all, in 1/`FINE` pulses."""
        cheapest: NDArray[np.int64] = self._costs().min(axis=0).astype(int)
        return cheapest

    def _costs(self) -> NDArray[np.int32]:
        """Steps with penalties from every history to every place, in 1/`FINE` pulses."""
        import numpy as np

        penalties = self.fine
        costs: NDArray[np.int32] = FINE * self.histories.steps.astype(np.int32)
        costs += penalties[:, None]
        costs -= penalties[self.histories.after]
        costs -= self.crossings.savings(self.prepaid)
        self.work.spend(costs.size // LOOKED_AT)
        return costs

    def _note(self) -> None:
        total = int(self.entries.sum()) + int(self.prepaid.sum())
        self.lower_bound = max(self.lower_bound, -(-total // FINE))

    def _leave_frequent(self, times: NDArray[np.floating | np.integer]) -> None:
        """Prepay no more for what crosses often anyway."""
        kept = (times < FREQUENT) | (self._prepaid.values > 0)
        self.crossings.keep(kept)
        self._prepaid.keep(kept)

    def improve(self, stage: Stage) -> Shares:
        """Better penalties, and the share that each step has in the end."""
        costs = self._costs()
        steps = self.histories.some(costs < costs.min(axis=0) + int(FINE * stage.within))
        counts = self.crossings.counts(steps)
        share = ascend(steps, counts, self._penalties, self._prepaid, stage)
        self._leave_frequent(counts.met(share))
        self.work.spend(stage.turns * len(steps) // LOOKED_AT)
        self._note()
        return Shares(steps, share)

    def lengthen(self, shares: Shares, least_share: float) -> int:
        """Longer histories where steps have at least such a share; how many are new."""
        import numpy as np

        names: dict[History, None] = {}
        for step in np.flatnonzero(shares.share > least_share):
            history, place = int(shares.steps.histories[step]), int(shares.steps.places[step])
            name = self.histories.lengthened(history, place)
            if name is not None:
                names[name] = None
        if names:
            parents = self.histories.add(list(names))
            self._penalties.grow(parents)
        return len(names)


def _fine(values: NDArray[np.float64]) -> NDArray[np.int32]:
    import numpy as np

    return np.rint(FINE * values).astype(np.int32)
