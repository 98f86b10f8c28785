"""Penalties and prices made better along the slope of a smooth bound.

The bound is the sum over all places of the cheapest step into each. In its smooth form a place is
entered by every step with a share that falls with its cost (Lagrangean relaxation; Y. Nesterov,
Smooth minimization of non-smooth functions, 2005). A history that is left with a larger share than
it is reached gets a higher penalty; what must come oftener than its shares say gets a higher price.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from seqc.solver.estimates.climb import Climb

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Numbers = NDArray[np.intp]
    Values = NDArray[np.float64]

PRICE_STRIDE = 0.5
"""By so many strides a price changes; a penalty changes by one."""


@dataclass(frozen=True, slots=True)
class Stage:
    """So many turns with the steps that cost `within` pulses more than the cheapest at most.

    `heat` is the extra cost at which a step's share falls to a third, `stride` what a penalty
    changes by in a turn; both go from the first value to the second.
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


@dataclass(frozen=True)
class Steps:
    """Some steps by history, place and the history after, with their pulses; ordered by place."""

    histories: Numbers
    places: Numbers
    after: Numbers
    pulses: Values

    def __len__(self) -> int:
        """How many they are."""
        return len(self.histories)

    @cached_property
    def begins(self) -> Numbers:
        """The first step into each place."""
        import numpy as np

        return np.flatnonzero(np.diff(self.places, prepend=-1))

    def only(self, kept: NDArray[np.bool_]) -> Steps:
        """Some of them."""
        return Steps(self.histories[kept], self.places[kept], self.after[kept], self.pulses[kept])

    def linked(self) -> Steps:
        """Those that leave a history that is reached, and reach one that is left."""
        import numpy as np

        steps = self
        while True:
            kept = np.isin(steps.histories, steps.after) & np.isin(steps.after, steps.histories)
            if kept.all():
                return steps
            steps = steps.only(kept)

    def penalised(self, penalties: NDArray[np.floating]) -> Values:
        """What each costs with the penalty of the history that it leaves, less that after it."""
        costs: Values = self.pulses + penalties[self.histories]
        costs -= penalties[self.after]
        return costs

    def cheapest(self, costs: Values) -> Values:
        """For each step what the cheapest one into the same place costs."""
        import numpy as np

        return np.minimum.reduceat(costs, self.begins)[self.places]

    def shares(self, costs: Values, heat: float) -> Values:
        """The share of each step among those into its place."""
        import numpy as np

        share: Values = np.exp((self.cheapest(costs) - costs) / heat)
        share /= np.add.reduceat(share, self.begins)[self.places]
        return share


@dataclass(frozen=True, slots=True)
class Marks:
    """Which steps count for which kinds: step `steps[i]` for `kinds[i]`."""

    steps: Numbers
    kinds: Numbers

    def by_step(self, worth: Values, count: int) -> Values:
        """What the kinds are worth, added up for each of `count` steps."""
        import numpy as np

        found: Values = np.zeros(count)
        found += np.bincount(self.steps, worth[self.kinds], count)
        return found

    def by_kind(self, share: Values, count: int) -> Values:
        """How often each of `count` kinds comes at such shares of the steps."""
        import numpy as np

        found: Values = np.zeros(count)
        found += np.bincount(self.kinds, share[self.steps], count)
        return found


@dataclass(frozen=True, slots=True)
class Counts:
    """How often moves of some kinds come on the way: each at least once, at a price of a pulse."""

    moves: Marks
    kinds: int

    def savings(self, prices: Values, count: int) -> Values:
        """By how much the prices make each of `count` steps cheaper, in pulses."""
        return self.moves.by_step(prices, count)

    def met(self, share: Values) -> Values:
        """How often each kind comes at such shares of the steps."""
        return self.moves.by_kind(share, self.kinds)


def ascend(steps: Steps, counts: Counts, penalties: Climb, prices: Climb, stage: Stage) -> Values:
    """Better penalties and prices; the share that each step has in the last turn."""
    import numpy as np

    histories = len(penalties.values)
    penalties.rest()
    prices.rest()
    for turn in range(stage.turns):
        heat, stride = stage.at(turn)
        costs = steps.penalised(penalties.values) - counts.savings(prices.values, len(steps))
        share = steps.shares(costs, heat)
        left, reached = (np.bincount(at, share, histories) for at in (steps.histories, steps.after))
        penalties.step(left - reached, stride)
        prices.step(1 - counts.met(share), PRICE_STRIDE * stride)
        prices.clip(0, 1)
    return share
