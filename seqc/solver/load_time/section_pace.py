"""The least load time of needs in very many ways.

Needs of which no two share a pass are loaded one after the other, in whatever order, each with one
gate at least. From one to the next every section of the selectors that opposes the two must be
moved. The clock tells how long that takes from throw to throw of their gates, and the table of the
shortest ways through all stops (Held and Karp) how long the load takes at least.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence

from seqc.solver.load_time.pace import MOST_PAIRS, Cost, Stop, Timer, alone, fewest, throw_us
from seqc.solver.passes.colouring import clique
from seqc.solver.passes.held_karp import MOST_STOPS, shortest_ways
from seqc.solver.positions import UNKNOWN, Positions, bits
from seqc.solver.sections.rows import Rows
from seqc.solver.ways import Row

Options = Sequence[Positions]
"""What a section may move, of which one must be."""


class SectionPace:
    """The bound of one load from any start."""

    def __init__(self, rows: Rows, timer: Timer) -> None:
        needs = list(bits(clique(rows.graph, (1 << len(rows.rows)) - 1)))[:MOST_STOPS]
        self._timer = timer
        self._wanted = [rows.rows[need] for need in needs]
        self._stops = [Stop((UNKNOWN,), rows.gates[need][:1]) for need in needs]
        places = range(len(needs))
        steps = [[self._step_us(one, two) if one != two else 0 for two in places] for one in places]
        rests = [timer.rest_us([alone(stop.gates)]) for stop in self._stops]
        self._table = shortest_ways(steps, rests)

    def least_us(self, start: Positions) -> int:
        """No load takes less time from a start; what isn't known there must be set."""
        return self._whole_us(start.missing)

    def least(self, start: Positions) -> Cost:
        """The same where what isn't known of the start may stand as is wanted; no pulses."""
        return self._whole_us(start.opposed), 0

    def _whole_us(self, moved: Callable[[Positions], int]) -> int:
        """The least time; `moved` tells the actuators that are moved from the start to a way."""
        every = (1 << len(self._stops)) - 1
        return min(
            self._first_us(place, moved) + self._table.length(place, every ^ 1 << place)
            for place in range(len(self._stops))
        )

    def _first_us(self, two: int, moved: Callable[[Positions], int]) -> int:
        """From the start to the first throw for a stop."""
        stop = self._stops[two]
        options = [fewest(way.within(moved(way)) for way in ways) for ways in self._wanted[two]]
        return throw_us(self._timer, [], _moves(options, stop.gates, self._timer), stop)

    def _step_us(self, one: int, two: int) -> int:
        """From the first throw for one stop to that for another."""
        before, stop = self._stops[one], self._stops[two]
        options = _between(self._wanted[one], self._wanted[two])
        moves = _moves(options, (*before.gates, *stop.gates), self._timer)
        return throw_us(self._timer, [alone(before.gates)], moves, stop)


def _between(before: Row, wanted: Row) -> Iterator[Options]:
    """By section what must be moved between two needs."""
    for ways, others in zip(before, wanted, strict=True):
        yield fewest(way.within(way.opposed(at)) for at in ways for way in others)


def _moves(sections: Iterable[Options], gates: Sequence[int], timer: Timer) -> list[Positions]:
    """What is moved in all, of which one must be; of those that take equally long only one.

    Sections with many options are left out where that would be too many.
    """
    found = [UNKNOWN]
    for options in sorted(sections, key=len):
        longer: dict[Hashable, Positions] = {}
        for before in found:
            for option in options:
                move = before.then(option)
                longer.setdefault(_kind(move, gates, timer), move)
        if len(longer) > MOST_PAIRS:
            break
        found = list(longer.values())
    return found


def _kind(move: Positions, gates: Sequence[int], timer: Timer) -> Hashable:
    """Equal for moves that take equally long."""
    kinds = [(timer.alike(index, gates), move.of(index)) for index in bits(move.known)]
    return frozenset(Counter(kinds).items())
