"""How long a load must still take, and how many pulses: a lower bound for every beginning of it.

Where there are as many needs that oppose each other as passes, every pass loads exactly one of
them, a stop. Between the first throw for one stop and the first throw for the next come the cycles
of all gates of the one and then the pulses of the selectors on which the two are opposed. The clock
tells how long that takes by itself; the table of the shortest ways through all stops (Held and
Karp), by time and pulses at once, then answers for every beginning.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from seqc.machine.effort import Work
from seqc.solver.loading import PassStep
from seqc.solver.objective import Objective
from seqc.solver.passes.held_karp import FAR, shortest_ways, table_nodes
from seqc.solver.positions import UNKNOWN, Positions
from seqc.solver.ways import Conditions, least_moves, least_pulses_to

MOST_PAIRS = 16
LARGEST = 1 << 29

Row = Sequence[int]
Matrix = Sequence[Row]

Cost = tuple[int, int]
"""What counts most, and what counts next: a time in microseconds and pulses, or the reverse."""


@dataclass(frozen=True, slots=True)
class Timer:
    """What the clock says of some passes of the load that is being planned.

    `load_us` is the time they take and the least it could be, searched for as far as it is shorter
    than a useful one, `throw_us` the least time until the first gate of the last pass is thrown,
    and `rest_us` the least time that these gates then take. What that takes is spent of `work`.
    """

    load_us: Callable[[Sequence[PassStep], int], tuple[int, int]]
    throw_us: Callable[[Sequence[PassStep]], int]
    rest_us: Callable[[Sequence[PassStep]], int]
    work: Work


@dataclass(frozen=True, slots=True)
class Stop:
    """A need that opposes all others that are stops, and its gates."""

    conditions: Conditions
    gates: tuple[int, ...]

    @property
    def only(self) -> Positions | None:
        """The way of a need with one alone."""
        if len(self.conditions) == len(self.conditions[0]) == 1:
            return self.conditions[0][0]
        return None

    def moves(self, moved: Callable[[Positions], int]) -> list[Positions]:
        """What is moved for it, at least one of these; `moved` tells it of each way."""
        return together(fewest(way.within(moved(way)) for way in ways) for ways in self.conditions)


class StopBound:
    """The bound for the stops of one load."""

    def __init__(
        self,
        stops: Sequence[Stop],
        start: Positions,
        end: Positions,
        timer: Timer,
        objective: Objective,
    ) -> None:
        self._timer = timer
        self._quick = objective is Objective.LOAD_TIME
        timer.work.spend(table_nodes(len(stops)))
        self._first_us = [self._from_start_us(start, stop) for stop in stops]
        self._steps_us = [[between_us(timer, one, two) for two in stops] for one in stops]
        self._first_pulses = [least_pulses_to(start, stop.conditions) for stop in stops]
        self._table = _Table(
            self._steps_us,
            [[least_moves(one.conditions, two.conditions) for two in stops] for one in stops],
            [timer.rest_us([alone(stop.gates)]) for stop in stops],
            [least_moves(stop.conditions, ((end,),)) for stop in stops],
            self._quick,
        )

    def whole(self) -> Cost:
        """The least cost of the whole load."""
        every = (1 << len(self._first_us)) - 1
        return min(
            self.still(self._first_us[stop], pulses, stop, every ^ 1 << stop)
            for stop, pulses in enumerate(self._first_pulses)
        )

    def step_us(self, before: int, stop: int) -> int:
        """The least time from the first throw for a stop, or from the start (-1), to the next's."""
        return self._first_us[stop] if before < 0 else self._steps_us[before][stop]

    def still(self, at_us: int, pulses: int, stop: int, left: int) -> Cost:
        """The least cost of a load whose first throw for a stop is at some time.

        It has taken so many pulses up to then; `left` are the stops to come, as a bit set.
        """
        more_us, more_pulses = self._table.cost(stop, left)
        cost = at_us + more_us, pulses + more_pulses
        return cost if self._quick else cost[::-1]

    def _from_start_us(self, start: Positions, stop: Stop) -> int:
        """From the start to the first throw for a stop."""
        return throw_us(self._timer, [], stop.moves(start.missing), stop)


def between_us(timer: Timer, one: Stop, two: Stop) -> int:
    """The least time from the first throw for one stop to that for another."""
    if one is two:
        return 0
    moves = together(
        fewest(way.within(way.opposed(before)) for before in befores for way in ways)
        for befores in one.conditions
        for ways in two.conditions
    )
    return throw_us(timer, [alone(one.gates)], moves, two)


def throw_us(
    timer: Timer, before: Sequence[PassStep], moves: Iterable[Positions], stop: Stop
) -> int:
    """The least time until a stop is thrown, after some passes and any of some moves."""
    gate = stop.gates[:1]
    return min(
        timer.throw_us([*before, PassStep(move.known, move, gate)]) for move in fewest(moves)
    )


def alone(gates: tuple[int, ...]) -> PassStep:
    """A pass that operates some gates and moves nothing."""
    return PassStep(0, UNKNOWN, gates)


def fewest(moves: Iterable[Positions]) -> list[Positions]:
    """The moves of which no other is a part; nothing for certain where they are too many."""
    few = list(itertools.islice(moves, MOST_PAIRS + 1))
    if len(few) > MOST_PAIRS:
        return [UNKNOWN]
    found = list(dict.fromkeys(few))
    return [
        move
        for move in found
        if not any(less != move and less == move.within(less.known) for less in found)
    ]


def together(several: Iterable[Sequence[Positions]]) -> list[Positions]:
    """What is moved in all, where of each of several moves one is made.

    Those with many choices are left out where that would be too many.
    """
    found = [UNKNOWN]
    for options in sorted(several, key=len):
        longer = list(dict.fromkeys(move.then(more) for move in found for more in options))
        if len(longer) > MOST_PAIRS:
            break
        found = longer
    return found


class _Table:
    """The shortest ways through the stops by both costs at once, each packed into one number.

    Of each time the least of its kind is taken off and added again at the end, and what is left is
    counted in units, so that the numbers stay small.
    """

    def __init__(
        self, steps_us: Matrix, steps: Matrix, last_us: Row, last: Row, quick: bool
    ) -> None:
        count = len(last)
        apart_us = [step for i, row in enumerate(steps_us) for j, step in enumerate(row) if i != j]
        self._step_us, self._last_us = min(apart_us, default=0), min(last_us)
        over = [step - self._step_us for step in apart_us] + [us - self._last_us for us in last_us]
        self._unit_us = math.gcd(*over) or 1
        most = count * (1 + max(map(max, steps))) + max(last)
        while (sum(over) // self._unit_us + 1) * (most + 1) > LARGEST:
            self._unit_us *= 2
        self._quick = quick
        self._base = most + 1 if quick else sum(over) // self._unit_us + 1
        self._ways = shortest_ways(
            [
                [
                    self._packed(steps_us[i][j] - self._step_us, steps[i][j]) if i != j else 0
                    for j in range(count)
                ]
                for i in range(count)
            ],
            [
                FAR if pulses else self._packed(us - self._last_us, 0)
                for us, pulses in zip(last_us, last, strict=True)
            ],
        )

    def _packed(self, over_us: int, pulses: int) -> int:
        units = over_us // self._unit_us
        return units * self._base + pulses if self._quick else pulses * self._base + units

    def cost(self, stop: int, left: int) -> tuple[int, int]:
        """The time and the pulses of the best way from a stop through others to the end."""
        high, low = divmod(self._ways.length(stop, left), self._base)
        units, pulses = (high, low) if self._quick else (low, high)
        rest_us = left.bit_count() * self._step_us + self._last_us
        return units * self._unit_us + rest_us, pulses
