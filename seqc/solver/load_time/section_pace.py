"""The least load time of needs in very many ways.

Needs of which no two share a pass are loaded one after the other, in whatever order, each with one
gate at least. Between two that oppose each other in a section of the selectors at least one
selector of it must be moved. The clock tells how long that takes from throw to throw of their
gates, and the table of the shortest ways through all stops (Held and Karp) how long the load takes
at least.
"""

from __future__ import annotations

from collections.abc import Iterator

from seqc.solver.load_time.pace import Stop, Timer, alone, throw_us
from seqc.solver.passes.colouring import clique
from seqc.solver.passes.held_karp import MOST_STOPS, shortest_ways
from seqc.solver.positions import UNKNOWN, Positions, bits
from seqc.solver.sections.rows import Rows
from seqc.solver.ways import agree


def least_load_us(rows: Rows, timer: Timer) -> int:
    """No load of these needs takes less time, in microseconds."""
    everything = (1 << len(rows.rows)) - 1
    needs = list(bits(clique(rows.graph, everything)))[:MOST_STOPS]
    stops = [Stop((UNKNOWN,), rows.gates[need][:1]) for need in needs]
    steps = [
        [
            0
            if one == two
            else throw_us(timer, [alone(stops[i].gates)], _moves(rows, one, two), stops[j])
            for j, two in enumerate(needs)
        ]
        for i, one in enumerate(needs)
    ]
    table = shortest_ways(steps, [timer.rest_us([alone(stop.gates)]) for stop in stops])
    left = (1 << len(needs)) - 1
    return min(
        throw_us(timer, [], [UNKNOWN], stop) + table.length(place, left ^ 1 << place)
        for place, stop in enumerate(stops)
    )


def _moves(rows: Rows, one: int, two: int) -> Iterator[Positions]:
    """Each move of one selector in the smallest section that opposes two needs."""
    opposing = [
        mask
        for mask, ways, others in zip(rows.masks, rows.rows[one], rows.rows[two], strict=True)
        if not agree(ways, others)
    ]
    for index in bits(min(opposing, key=int.bit_count)):
        yield Positions(1 << index, 0)
        yield Positions(1 << index, 1 << index)
