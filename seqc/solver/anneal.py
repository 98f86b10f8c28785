"""An order of stops made better by random exchanges, worse ones let through less and less.

S. Kirkpatrick, C. Gelatt, M. Vecchi, Optimization by simulated annealing, 1983, with the exchanges
of `tour`: a stretch reversed, or up to three stops moved elsewhere. The cost is that of all pulses,
with actuators left where they are by stops that don't speak of them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from random import Random

from seqc.solver.positions import UNKNOWN, Positions

LONGEST_STRETCH = 3
LONGEST_REVERSED = 30
REVERSED_SHARE = 0.25
COLD = 0.3


class Annealing:
    """An order of stops, the positions before and after each place in it, and exchanges."""

    def __init__(
        self,
        stops: Sequence[Positions],
        order: Sequence[int],
        start: Positions,
        end: Positions,
        last: Sequence[bool],
    ) -> None:
        """Only a stop marked in `last` comes last."""
        self.words = [(stop.known, stop.thrown) for stop in stops]
        self.order = list(order)
        self.last = last
        count = len(order)
        self._before = [(start.known, start.thrown)] * (count + 1)
        self._pulses = [0] * (count + 1)
        self._wanted = [(end.known, end.thrown)] * (count + 1)
        self._total = 0
        self._settle(0, count)

    @property
    def pulses(self) -> int:
        """All pulses of the order, those to the end positions too."""
        return self._total

    def _settle(self, first: int, end: int) -> None:
        """Count anew after the stops from `first` to before `end` were exchanged."""
        known, thrown = self._before[first]
        pulses = self._pulses[first]
        for place in range(first, len(self.order)):
            want, on = self.words[self.order[place]]
            pulses += (want & ~(known & ~(thrown ^ on))).bit_count()
            known |= want
            thrown = thrown & ~want | on
            self._before[place + 1] = known, thrown
            self._pulses[place + 1] = pulses
        want, on = self._wanted[end]
        for place in range(end - 1, -1, -1):
            more, more_on = self.words[self.order[place]]
            want, on = want | more, on & ~more | more_on
            self._wanted[place] = want, on
        want, on = self._wanted[-1]
        self._total = pulses + (want & ~(known & ~(thrown ^ on))).bit_count()

    def _with(self, first: int, end: int, stretch: Sequence[int]) -> int:
        """All pulses if the stops from `first` to before `end` came in another order."""
        known, thrown = self._before[first]
        pulses = self._pulses[first]
        for stop in stretch:
            want, on = self.words[stop]
            pulses += (want & ~(known & ~(thrown ^ on))).bit_count()
            known |= want
            thrown = thrown & ~want | on
        want, on = self._wanted[end]
        old_known, old_thrown = self._before[end]
        pulses += (want & ~(known & ~(thrown ^ on))).bit_count()
        old = (want & ~(old_known & ~(old_thrown ^ on))).bit_count()
        return self._total - self._pulses[end] - old + pulses

    def run(self, tries: int, heat: float, random: Random) -> list[int]:
        """The best order met in so many tries from a heat, in pulses, down to `COLD`."""
        best, found = self._total, list(self.order)
        cooling = (COLD / heat) ** (1 / tries)
        for _ in range(tries):
            heat *= cooling
            exchange = self._exchange(random)
            if exchange is None:
                continue
            first, end, stretch = exchange
            if end == len(self.order) and not self.last[stretch[-1]]:
                continue
            limit = self._total - heat * math.log(1 - random.random())
            if self._with(first, end, stretch) <= limit:
                self.order[first:end] = stretch
                self._settle(first, end)
                if self._total < best:
                    best, found = self._total, list(self.order)
        return found

    def _exchange(self, random: Random) -> tuple[int, int, list[int]] | None:
        """Two places and the stops between them in a new order; None where it would be the same."""
        order, count = self.order, len(self.order)
        first = int(random.random() * count)
        if random.random() < REVERSED_SHARE:
            end = first + 2 + int(random.random() * LONGEST_REVERSED)
            return (first, end, order[first:end][::-1]) if end <= count else None
        end = first + 1 + int(random.random() ** 2 * LONGEST_STRETCH)
        to = int(random.random() * count)
        if end > count or to == first or to + end - first > count:
            return None
        stretch = order[first:end]
        if random.random() < 0.5:
            stretch.reverse()
        if to < first:
            return to, end, stretch + order[to:first]
        to += end - first
        return first, to, order[end:to] + stretch


def annealed(
    stops: Sequence[Positions],
    order: Sequence[int],
    start: Positions,
    end: Positions = UNKNOWN,
    *,
    last: Sequence[bool],
    tries: int,
    heat: float,
) -> list[int]:
    """The best order met; always the same for the same stops. Its last stop is one of `last`."""
    return Annealing(stops, order, start, end, last).run(tries, heat, Random(0))
