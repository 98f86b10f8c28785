"""Order and bound of needs that leave actuators open.

The tolls of the bound lead the order, and the order's pulses say when the bound is enough.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from seqc.solver.anneal import Annealing, annealed
from seqc.solver.beam import guided_order
from seqc.solver.positions import Positions
from seqc.solver.tolls import Tolls
from seqc.solver.trail_bound import TrailBound
from seqc.solver.ways import Ways

MOST_STOPS = 128
EFFORT = 400_000_000
"""Steps looked at, each time anew: some three millions in a tenth of a second."""

GUIDE_EFFORT = 100_000_000
WIDTHS = (500, 4_000)
TRIES = (30_000, 80_000)
HEAT = 0.6


@dataclass
class GuidedOrder:
    """An order of stops between a start and an end, made better along the tolls of bounds.

    Only a stop marked in `last` comes last, as in the order to begin with.
    """

    stops: Sequence[Positions]
    start: Positions
    end: Positions
    last: Sequence[bool]
    order: list[int]

    @property
    def pulses(self) -> int:
        """All pulses of the order."""
        return self._pulses(self.order)

    def _pulses(self, order: Sequence[int]) -> int:
        return Annealing(self.stops, order, self.start, self.end, self.last).pulses

    def improve(self, tolls: Tolls | None, width: int, tries: int) -> None:
        """Look for a better order: along the tolls, if there are any, then by exchanges."""
        led = self.order if tolls is None else guided_order(tolls, self.last, width)
        order = min((self.order, led), key=self._pulses)
        ends = (self.start, self.end)
        found = annealed(self.stops, order, *ends, last=self.last, tries=tries, heat=HEAT)
        self.order = min((self.order, found), key=self._pulses)


def order_and_bound(order: GuidedOrder, needs: Sequence[Ways]) -> int:
    """Make the order better, and give a bound of the pulses for the needs; 0 for too many."""
    stops = order.stops
    wanted = list(dict.fromkeys(_in_all(ways) for ways in needs))
    if max(len(stops), len(wanted)) > MOST_STOPS:
        order.improve(None, 0, TRIES[-1])
        return 0
    guide = TrailBound(stops, order.start, order.end)
    order.improve(guide.tolls, WIDTHS[0], TRIES[0])
    if set(wanted) == set(stops):
        bound = guide
    else:
        bound = TrailBound(wanted, order.start, order.end)
        guide.tighten(order.pulses, GUIDE_EFFORT)
    bound.tighten(order.pulses, EFFORT)
    if bound.least < order.pulses:
        order.improve(guide.tolls, WIDTHS[1], TRIES[1])
    return bound.least


def _in_all(ways: Ways) -> Positions:
    """What every way has."""
    rest = thrown = -1
    for way in ways:
        rest &= way.known & ~way.thrown
        thrown &= way.thrown
    return Positions(rest | thrown, thrown)
