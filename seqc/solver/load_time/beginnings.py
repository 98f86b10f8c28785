"""The beginnings of a load, pass by pass, with every choice of what each pass operates.

A pass operates some gates whose needs agree and sets just what they need. A gate need not be
operated in the first pass that serves it: where a supply is scarce, a later one may be quicker.
"""

from __future__ import annotations

import itertools
from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from seqc.solver.loading import PassStep
from seqc.solver.passes.colouring import EffortError, clique, opposed
from seqc.solver.passes.held_karp import MOST_STOPS
from seqc.solver.positions import UNKNOWN, Positions, bits
from seqc.solver.ways import Ways, agree

MOST_CHOICES = 5_000


_Choice = tuple[int, Positions, tuple[int, ...]]
"""A stop or -1, what is held, and how many gates of each kind are operated."""


@dataclass(frozen=True, slots=True)
class Kind:
    """Gates with one need that nothing else tells apart either.

    `stop` is the number of the need among those of which each pass loads exactly one, or -1.
    """

    ways: Ways
    gates: tuple[int, ...]
    stop: int


@dataclass(frozen=True, slots=True)
class Beginning:
    """Some passes of a load, and for each kind how many of its gates are left.

    The last pass loads `stop`, and throws no gate for it before `at_us`.
    """

    passes: tuple[PassStep, ...]
    positions: Positions
    left: tuple[int, ...]
    pulses: int = 0
    stop: int = -1
    at_us: int = 0

    @property
    def ended(self) -> bool:
        """Whether every gate has been operated."""
        return not any(self.left)


class Beginnings:
    """All beginnings of one load in so many passes."""

    def __init__(
        self,
        needs: Mapping[int, Ways],
        alike: Mapping[int, Hashable],
        start: Positions,
        end: Positions,
        passes: int,
    ) -> None:
        self.start = start
        self.end = end
        self.passes = passes
        distinct = list(dict.fromkeys(needs.values()))
        stops = _stops(distinct, passes)
        self.stops = [distinct[need] for need in stops]
        number = {ways: stop for stop, ways in enumerate(self.stops)}
        by_kind: dict[tuple[Ways, Hashable], list[int]] = {}
        for gate, ways in needs.items():
            by_kind.setdefault((ways, alike[gate]), []).append(gate)
        self.kinds = [
            Kind(ways, tuple(gates), number.get(ways, -1)) for (ways, _), gates in by_kind.items()
        ]
        self.kinds.sort(key=lambda kind: kind.stop < 0)

    @property
    def first(self) -> Beginning:
        """Before the first pass."""
        return Beginning((), self.start, tuple(len(kind.gates) for kind in self.kinds))

    def stops_left(self, beginning: Beginning) -> int:
        """The bit set of the stops to come."""
        left = 0
        for kind, count in zip(self.kinds, beginning.left, strict=True):
            left |= (count > 0 and kind.stop >= 0) << max(kind.stop, 0)
        return left

    def gates_of(self, stop: int) -> frozenset[int]:
        """All gates of a stop."""
        return frozenset(gate for kind in self.kinds if kind.stop == stop for gate in kind.gates)

    def after(self, beginning: Beginning) -> Iterator[Beginning]:
        """Every beginning with one more pass. Raises EffortError where they are too many."""
        last = len(beginning.passes) + 1 == self.passes
        for stop, hold, taken in self._choices(beginning, last):
            if last:
                if not hold.meet(self.end):
                    continue
                hold = hold.then(self.end)
            pulsed = beginning.positions.missing(hold)
            positions = beginning.positions.then(hold)
            gates = [
                gate
                for kind, left, count in zip(self.kinds, beginning.left, taken, strict=True)
                for gate in kind.gates[len(kind.gates) - left :][:count]
            ]
            step = PassStep(pulsed, positions, tuple(sorted(gates)))
            yield Beginning(
                (*beginning.passes, step),
                positions,
                tuple(left - count for left, count in zip(beginning.left, taken, strict=True)),
                beginning.pulses + pulsed.bit_count(),
                stop,
            )

    def _choices(self, beginning: Beginning, last: bool) -> Iterator[_Choice]:
        """What a next pass may load, hold and operate."""
        if not self.stops:
            yield from self._with_stop(beginning, -1, None, last)
            return
        left = self.stops_left(beginning)
        for stop in bits(left):
            later = [self.stops[other] for other in bits(left ^ 1 << stop)]
            yield from self._with_stop(beginning, stop, later, last)

    def _with_stop(
        self, beginning: Beginning, stop: int, later: list[Ways] | None, last: bool
    ) -> Iterator[_Choice]:
        """The same for one stop, where only passes for some others come later."""
        partial: dict[tuple[Positions, tuple[int, ...]], None] = {(UNKNOWN, ()): None}
        for kind, left in zip(self.kinds, beginning.left, strict=True):
            counts = _counts(kind, left, stop, later, last)
            partial = {
                (more, (*taken, count)): None
                for (hold, taken), count in itertools.product(partial, counts)
                for more in (_held(hold, kind.ways) if count else (hold,))
            }
            if len(partial) > MOST_CHOICES:
                raise EffortError
        yield from ((stop, hold, taken) for hold, taken in partial if any(taken))


def _stops(needs: Sequence[Ways], passes: int) -> list[int]:
    """Needs of which no two share a pass, where there is one for each pass."""
    if passes > MOST_STOPS:
        return []
    found = clique(opposed(needs), (1 << len(needs)) - 1)
    return list(bits(found)) if found.bit_count() == passes else []


def _counts(
    kind: Kind, left: int, stop: int, later: list[Ways] | None, last: bool
) -> Sequence[int]:
    """How many gates of a kind a pass may operate."""
    if kind.stop >= 0:
        return (left if kind.stop == stop else 0,)
    if last or not left:
        return (left,)
    waits = later is None or any(agree(kind.ways, ways) for ways in later)
    return range(0 if waits else left, left + 1)


def _held(hold: Positions, ways: Ways) -> Iterator[Positions]:
    """What is held with any one of the ways besides."""
    for way in ways:
        if hold.meet(way):
            yield hold.then(way)
            if hold.missing(way) == 0:
                return
