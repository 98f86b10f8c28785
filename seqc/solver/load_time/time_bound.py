"""What a load takes at least, in time and pulses, from a start that is known in part.

What isn't known of the start stands where it is wanted. The pace of the needs that oppose each
other answers for any start. Where there is one need for each pass and few of them, every order is
followed with what each pass leaves as it was; two passes are worth a timing of the whole.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence

from seqc.solver.estimates.spanning import spanning_bound
from seqc.solver.estimates.tour import short_way
from seqc.solver.load_time.load_timer import FOREVER
from seqc.solver.load_time.stop_bound import (
    Cost,
    Stop,
    StopBound,
    Timer,
    alone,
    between_us,
    throw_us,
)
from seqc.solver.loading import PassStep
from seqc.solver.objective import Objective
from seqc.solver.passes.colouring import clique, opposed_conditions
from seqc.solver.passes.held_karp import MOST_STOPS
from seqc.solver.positions import UNKNOWN, Positions, bits
from seqc.solver.ways import Conditions, can_meet, least_moves

SPANNING = 2
"""So many nodes for each pair of stops of a spanning tree with prices."""

WORTH_TIMING = 2
WORTH_ORDERING = 5


class TimeBound:
    """The bound for the stops of one load and one end."""

    def __init__(self, stops: Sequence[Stop], end: Positions, timer: Timer, alone: bool) -> None:
        """The needs of the stops are `alone` where the load has no others."""
        self._stops = stops[:MOST_STOPS]
        self._end = end
        self._timer = timer
        self._through_all_us = _spanning_us(stops, timer) if len(stops) > MOST_STOPS else 0
        stops = stops[:MOST_STOPS]
        self._stop_bound = StopBound(stops, UNKNOWN, end, timer, Objective.LOAD_TIME)
        self._throws_us: dict[tuple[int, int, tuple[Positions, ...]], int] = {}
        self._firsts_us: dict[tuple[int, int], int] = {}
        self._rests_us = [timer.rest_us([_pass(stop)]) for stop in stops]
        self._only = [stop.only for stop in stops]
        self._ordered = alone and None not in self._only and len(stops) <= WORTH_ORDERING
        self._by_first = sorted(self._from(number) for number in range(len(stops)))

    def _from(self, number: int) -> tuple[int, int, int, int]:
        """What a load that begins with a stop takes at least, and the stop with what follows it."""
        every = (1 << len(self._stops)) - 1
        rest_us, rest_pulses = self._stop_bound.still(0, 0, number, every ^ 1 << number)
        return self._throw_us(-1, number, [UNKNOWN]) + rest_us, number, rest_us, rest_pulses

    def lower_bound(self, start: Positions) -> Cost:
        """The least cost of the whole load, by load time."""
        bounded: Cost | None = None
        for least_us, number, rest_us, rest_pulses in self._by_first:
            if bounded is not None and least_us > bounded[0]:
                break
            first_us, moves = self._first(number, start)
            found = max(least_us, first_us + rest_us), moves + rest_pulses
            bounded = found if bounded is None else min(bounded, found)
        assert bounded is not None
        bounded = max(bounded[0], self._through_all_us), bounded[1]
        return max(bounded, self._in_order(start)) if self._ordered else bounded

    def _first(self, number: int, start: Positions) -> Cost:
        """The time until a stop is thrown as the first one, and the pulses up to then."""
        stop, only = self._stops[number], self._only[number]
        if only is None:
            moves = stop.moves(start.opposed)
            return self._throw_us(-1, number, moves), least_moves(stop.conditions, ((start,),))
        moved = start.opposed(only)
        if (number, moved) not in self._firsts_us:
            self._firsts_us[number, moved] = self._throw_us(-1, number, [only.within(moved)])
        return self._firsts_us[number, moved], moved.bit_count()

    def _in_order(self, start: Positions) -> Cost:
        """The least cost of the stops in any order that can end so."""
        orders = itertools.permutations(range(len(self._stops)))
        ends = (order for order in orders if self._can_end(order[-1]))
        bounded = sorted((*self._of(order, start), order) for order in ends)
        if len(self._stops) > WORTH_TIMING:
            return bounded[0][:2]
        best: Cost | None = None
        for load_us, pulses, order in bounded:
            if best is None or (load_us, pulses) < best:
                timed = self._timed(order, start), pulses
                best = timed if best is None else min(best, timed)
        assert best is not None
        return best

    def _can_end(self, number: int) -> bool:
        """Whether the load can end with a stop that has one way."""
        only = self._only[number]
        return only is not None and only.meet(self._end)

    def _of(self, order: Sequence[int], at: Positions) -> Cost:
        """What one order costs at least by the times between its throws."""
        moves = self._moves(order, at)
        steps = zip((-1, *order), order, moves, strict=False)
        throws_us = sum(self._throw_us(before, n, [move]) for before, n, move in steps)
        pulses = sum(move.known.bit_count() for move in moves)
        return throws_us + self._rests_us[order[-1]], pulses

    def _timed(self, order: Sequence[int], at: Positions) -> int:
        """The least load time of one order, timed as a whole."""
        pairs = zip(self._moves(order, at), order, strict=True)
        passes = [PassStep(move.known, move, self._stops[n].gates) for move, n in pairs]
        return self._timer.load_us(passes, FOREVER)[1]

    def _moves(self, order: Sequence[int], at: Positions) -> list[Positions]:
        """What each pass of one order moves; the last one sets what is missing of the end."""
        moves = []
        for place, number in enumerate(order, start=1):
            way = self._only[number]
            assert way is not None
            hold = way.then(self._end) if place == len(order) else way
            moves.append(hold.within(hold.opposed(at)))
            at = at.then(hold)
        return moves

    def _throw_us(self, before: int, number: int, moves: Sequence[Positions]) -> int:
        """From the first throw for a stop, or from the start (-1), to that for another."""
        key = before, number, tuple(moves)
        if key not in self._throws_us:
            passes = [] if before < 0 else [_pass(self._stops[before])]
            self._throws_us[key] = throw_us(self._timer, passes, moves, self._stops[number])
        return self._throws_us[key]


def _spanning_us(stops: Sequence[Stop], timer: Timer) -> int:
    """No load through very many stops takes less time, wherever it starts."""
    between = [[between_us(timer, one, two) for two in stops] for one in stops]
    # A tree knows no direction, so each step counts with its quicker one.
    steps = [[0] * (len(stops) + 1)]
    steps += [
        [0, *map(min, row, column)]
        for row, column in zip(between, zip(*between, strict=True), strict=True)
    ]
    rests = [timer.rest_us([_pass(stop)]) for stop in stops]
    order = short_way(steps, rests, timer.work.part(0))
    assert order is not None
    pairs = itertools.pairwise(order)
    enough = sum(steps[one + 1][two + 1] for one, two in pairs) + rests[order[-1]]
    timer.work.spend(len(stops) ** 2 * SPANNING)
    return spanning_bound(steps, rests, enough)


def _pass(stop: Stop) -> PassStep:
    return alone(stop.gates)


def time_bound_of(
    needs: Mapping[int, Conditions], passes: int, end: Positions, timer: Timer
) -> TimeBound | None:
    """The bound of any load with these needs by gate in so many passes, and of its end.

    Where needs that oppose each other are fewer than the passes, one gate of each tells the pace:
    those of one need may be operated in several passes, and the last pass may load none of them.
    """
    distinct = list(dict.fromkeys(needs.values()))
    chosen = list(bits(clique(opposed_conditions(distinct), (1 << len(distinct)) - 1)))
    tight = len(chosen) == passes
    stops = []
    for conditions in (distinct[number] for number in chosen):
        gates = tuple(gate for gate, need in needs.items() if need == conditions)
        stops.append(Stop(conditions, gates if tight else gates[:1]))
    if not stops:
        return None
    if not tight or not any(can_meet(stop.conditions, ((end,),)) for stop in stops):
        end = UNKNOWN
    return TimeBound(stops, end, timer, tight and len(stops) == len(distinct))
