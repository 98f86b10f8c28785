"""Passes made better by random exchanges, worse ones let through less and less.

S. Kirkpatrick, C. Gelatt, M. Vecchi, Optimization by simulated annealing, 1983, with the exchanges
of `tour`: a stretch reversed, or up to three passes moved elsewhere; and a need may go to another
pass that it agrees with. The cost is that of all pulses, with actuators left where they are by
passes that don't speak of them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from random import Random

from seqc.solver.positions import Positions

Passes = Sequence[Sequence[Positions]]
"""For each pass, in order, the positions that its needs want; they agree."""

LONGEST_STRETCH = 3
LONGEST_REVERSED = 30
REVERSED_SHARE = 0.25
RESHARED_SHARE = 0.4
COLD = 0.3

_Word = tuple[int, int]


def merged(several: Iterable[Positions]) -> Positions:
    """What some positions want together."""
    together = Positions()
    for positions in several:
        together = together.then(positions)
    return together


class Annealing:
    """Passes in an order, the positions before and after each place in it, and exchanges.

    Where the end is `tight` the last pass must agree with it.
    """

    def __init__(self, passes: Passes, start: Positions, end: Positions, tight: bool) -> None:
        self.members = [list(members) for members in passes]
        self.order = list(range(len(passes)))
        self._end = end if tight else Positions()
        self._held = [_word(merged(members)) for members in passes]
        self._needs = [(number, need) for number, needs in enumerate(passes) for need in needs]
        count = len(passes)
        self._before = [_word(start)] * (count + 1)
        self._pulses = [0] * (count + 1)
        self._wanted = [_word(end)] * (count + 1)
        self.pulses = 0
        self._settle(0, count)

    def passes(self) -> list[list[Positions]]:
        """The needs of each pass, in order."""
        return [list(self.members[number]) for number in self.order]

    def _settle(self, first: int, end: int) -> None:
        """Count anew after the passes from `first` to before `end` were exchanged."""
        known, thrown = self._before[first]
        pulses = self._pulses[first]
        for place in range(first, len(self.order)):
            demand, on = self._held[self.order[place]]
            pulses += (demand & ~(known & ~(thrown ^ on))).bit_count()
            known |= demand
            thrown = thrown & ~demand | on
            self._before[place + 1] = known, thrown
            self._pulses[place + 1] = pulses
        demand, on = self._wanted[end]
        for place in range(end - 1, -1, -1):
            more, more_on = self._held[self.order[place]]
            demand, on = demand | more, on & ~more | more_on
            self._wanted[place] = demand, on
        demand, on = self._wanted[-1]
        self.pulses = pulses + (demand & ~(known & ~(thrown ^ on))).bit_count()

    def _with(self, first: int, end: int, stretch: Sequence[int]) -> int:
        """All pulses if the passes from `first` to before `end` came in another order."""
        known, thrown = self._before[first]
        pulses = self._pulses[first]
        for number in stretch:
            demand, on = self._held[number]
            pulses += (demand & ~(known & ~(thrown ^ on))).bit_count()
            known |= demand
            thrown = thrown & ~demand | on
        demand, on = self._wanted[end]
        old_known, old_thrown = self._before[end]
        pulses += (demand & ~(known & ~(thrown ^ on))).bit_count()
        old = (demand & ~(old_known & ~(old_thrown ^ on))).bit_count()
        return self.pulses - self._pulses[end] - old + pulses

    def run(self, tries: int, heat: float, random: Random) -> list[list[Positions]]:
        """The best passes met in so many tries from a heat, in pulses, down to `COLD`."""
        best, found = self.pulses, self.passes()
        reshared = RESHARED_SHARE if len(self._needs) > len(self.order) else 0
        cooling = (COLD / heat) ** (1 / tries)
        for _ in range(tries):
            heat *= cooling
            limit = self.pulses - heat * math.log(1 - random.random())
            if random.random() < reshared:
                self._reshare(random, limit)
            else:
                self._exchange(random, limit)
            if self.pulses < best:
                best, found = self.pulses, self.passes()
        return found

    def _exchange(self, random: Random, limit: float) -> None:
        """Passes in another order, if the pulses are within the limit."""
        drawn = self._drawn(random)
        if drawn is None:
            return
        first, end, stretch = drawn
        if end == len(self.order) and not self._closes(self._held[stretch[-1]]):
            return
        if self._with(first, end, stretch) <= limit:
            self.order[first:end] = stretch
            self._settle(first, end)

    def _closes(self, word: _Word) -> bool:
        return self._end.meet(Positions(*word))

    def _drawn(self, random: Random) -> tuple[int, int, list[int]] | None:
        """Two places and the passes between them in a new order, if it is one."""
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

    def _reshare(self, random: Random, limit: float) -> None:
        """A need goes to another pass, if the pulses are within the limit."""
        index = int(random.random() * len(self._needs))
        old, need = self._needs[index]
        new = int(random.random() * len(self.order))
        if new == old or len(self.members[old]) == 1:
            return
        held = Positions(*self._held[new])
        if not held.meet(need):
            return
        places = self.order.index(old), self.order.index(new)
        first, end = min(places), max(places) + 1
        kept = self._held[old], self._held[new]
        self.members[old].remove(need)
        self._held[old] = _word(merged(self.members[old]))
        self._held[new] = _word(held.then(need))
        stretch = self.order[first:end]
        if self._with(first, end, stretch) <= limit and self._closes(self._held[self.order[-1]]):
            self.members[new].append(need)
            self._needs[index] = new, need
            self._settle(first, end)
        else:
            self.members[old].append(need)
            self._held[old], self._held[new] = kept


def _word(positions: Positions) -> _Word:
    return positions.known, positions.thrown
