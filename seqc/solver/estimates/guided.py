"""Passes and bound of needs that leave actuators open.

The penalties of the bound lead the order of the passes, and the pulses say when it is enough.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from seqc.machine.effort import Work
from seqc.solver.estimates.anneal import Annealing, Passes, merged
from seqc.solver.estimates.beam import guided_order
from seqc.solver.estimates.history_bound import HistoryBound
from seqc.solver.estimates.shared_bound import SharedBound
from seqc.solver.positions import Positions
from seqc.solver.ways import Ways, in_all

MOST_STOPS = 128
GUIDE_SHARE = 0.2
SHARED_SHARE = 0.7
ANNEAL_SHARE = 0.1
"""Such shares of the work that is left go to each search."""

FIRST_WIDTH = 500
MIDDLE_WIDTH = 2_000
WIDEST = 1_000_000
"""At most so many beginnings, times the places, are carried along at once."""

BEGINNINGS = 100
"""So many of them for each node that is left."""

CARRIED = 150
"""It is as much work as a node to go on from so many of them."""

MOST_TRIES = 100_000
TRIES = 8
"""It is as much work as a node to try so many exchanges."""

HEAT = 0.7


@dataclass
class GuidedPasses:
    """Passes between a start and an end, made better along the penalties of bounds.

    `passes` has the positions that the needs of each pass want; where the end is `tight` the last
    of them agrees with it, as in the beginning.
    """

    passes: list[list[Positions]]
    start: Positions
    end: Positions
    tight: bool
    work: Work

    @property
    def pulses(self) -> int:
        """All pulses."""
        return self._pulses(self.passes)

    @property
    def holds(self) -> list[Positions]:
        """What each pass holds."""
        return [merged(members) for members in self.passes]

    @property
    def widest(self) -> int:
        """How many beginnings are carried along at most."""
        return max(1, min(WIDEST, BEGINNINGS * self.work.left) // len(self.passes))

    def guide(self) -> Guide:
        """What leads the order of these very passes."""
        return Guide(self.passes, HistoryBound(self.holds, self.start, self.end, self.work))

    def _annealing(self, passes: Passes) -> Annealing:
        return Annealing(passes, self.start, self.end, self.tight)

    def _pulses(self, passes: Passes) -> int:
        return self._annealing(passes).pulses

    def improve(self, guide: Guide, width: int) -> int:
        """Better passes, if any are found: by the guide's penalties and then by exchanges.

        Gives a bound for the guide's passes in any order.
        """
        self.work.spend(width * len(guide.passes) // CARRIED)
        closes = [not self.tight or merged(needs).meet(self.end) for needs in guide.passes]
        led = guided_order(guide.bound.penalties, closes, width)
        self.anneal([guide.passes[number] for number in led.order])
        return led.lower_bound

    def improve_shared(self, guide: Guide | None, width: int) -> Guide:
        """The same by a new guide where needs share other passes than those of the last one."""
        if guide is None or set(guide.holds) != set(self.holds):
            guide = self.guide()
            guide.bound.tighten(self.pulses, self.work.part(GUIDE_SHARE))
        self.improve(guide, width)
        return guide

    def anneal(self, passes: Passes) -> None:
        """Better passes, if exchanges lead to any from these."""
        tries = max(1, min(MOST_TRIES, TRIES * self.work.part(ANNEAL_SHARE).left))
        self.work.spend(tries // TRIES)
        found = self._annealing(passes).run(tries, HEAT, Random(0))
        self.passes = min(self.passes, found, key=self._pulses)


@dataclass(frozen=True)
class Guide:
    """Some passes, and a bound for them in any order."""

    passes: list[list[Positions]]
    bound: HistoryBound

    @property
    def holds(self) -> list[Positions]:
        """What each pass holds."""
        return [merged(members) for members in self.passes]


def passes_and_bound(guided: GuidedPasses, needs: Sequence[Ways]) -> int:
    """Make the passes better, and give a bound of the pulses for the needs; 0 for too many."""
    wanted = list(dict.fromkeys(in_all(ways) for ways in needs))
    if max(len(wanted), len(guided.passes)) > MOST_STOPS:
        guided.anneal(guided.passes)
        return 0
    if len(wanted) == len(guided.passes) and set(wanted) == set(guided.holds):
        return _alone(guided)
    return _sharing(guided, wanted)


def _alone(guided: GuidedPasses) -> int:
    """Where no two needs share a pass, the bound of the passes is that of the needs."""
    guide = guided.guide()
    lower_bound = guided.improve(guide, FIRST_WIDTH)
    guide.bound.tighten(guided.pulses, guided.work.part(SHARED_SHARE))
    for width in (MIDDLE_WIDTH, guided.widest):
        lower_bound = max(lower_bound, guide.bound.lower_bound)
        if lower_bound < guided.pulses:
            lower_bound = max(lower_bound, guided.improve(guide, width))
    return max(lower_bound, guide.bound.lower_bound)


def _sharing(guided: GuidedPasses, wanted: Sequence[Positions]) -> int:
    """Where needs share passes, a better order and better sharing in turn, and a bound."""
    guide = guided.improve_shared(None, FIRST_WIDTH)
    guide = guided.improve_shared(guide, MIDDLE_WIDTH)
    count = len(guided.passes) if guided.tight else None
    shared = SharedBound(guided.start, guided.end, guided.pulses, guided.work.part(SHARED_SHARE))
    lower_bound = shared.lower_bound(wanted, count)
    if lower_bound < guided.pulses:
        guided.improve_shared(guide, guided.widest)
    return lower_bound
