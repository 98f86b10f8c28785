"""What the needs of a load want of each section of the actuators."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import prod

from seqc.solver.needs import Need
from seqc.solver.passes.colouring import clique
from seqc.solver.positions import Positions, bits
from seqc.solver.ways import ALWAYS, Row, Ways, actuators_in, agree, both, implied

MOST_OF_SECTION = 16
"""So many ways a need may leave in one section."""


@dataclass(frozen=True, slots=True)
class Rows:
    """The needs that no other one implies: what each wants of each section, and its gates.

    `masks` are the actuators of the sections. The first needs are a large set of which no two can
    share a pass.
    """

    masks: tuple[int, ...]
    rows: tuple[Row, ...]
    gates: tuple[tuple[int, ...], ...]

    @property
    def graph(self) -> tuple[int, ...]:
        """For each need the bit set of those that can't share a pass with it."""
        return _opposed(self.rows)


def rows_of(needs: Mapping[int, Need], end: Positions) -> Rows | None:
    """The needs by gate with their sections, which `end` ties too; None for many ways in one."""
    parts = dict.fromkeys(need.parts for need in needs.values())
    masks = _sections([*parts, ((end,),)])
    if not all(_is_small(several, masks) for several in parts):
        return None
    row_of = {several: _row(several, masks) for several in parts}
    gates: dict[Row, list[int]] = {}
    for gate, need in needs.items():
        gates.setdefault(row_of[need.parts], []).append(gate)
    kept = _hardest(gates)
    graph = _opposed(kept)
    first = clique(graph, (1 << len(kept)) - 1)
    order = sorted(range(len(kept)), key=lambda need: not first >> need & 1)
    return Rows(
        tuple(masks),
        tuple(kept[need] for need in order),
        tuple(tuple(gates[kept[need]]) for need in order),
    )


def _sections(several: Iterable[Sequence[Ways]]) -> list[int]:
    """The bit sets of actuators that some condition ties together; one of one way ties none."""
    found: list[int] = []
    for ways in itertools.chain.from_iterable(several):
        spoken = actuators_in(ways)
        for mask in [spoken] if len(ways) > 1 else [1 << index for index in bits(spoken)]:
            tied = [other for other in found if other & mask]
            found = [other for other in found if not other & mask]
            found.append(mask | sum(other & ~mask for other in tied))
    return found


def _is_small(parts: Sequence[Ways], masks: Sequence[int]) -> bool:
    """Whether no section has many ways."""
    return all(
        prod(len(part) for part in parts if actuators_in(part) & mask) <= MOST_OF_SECTION
        for mask in masks
    )


def _row(parts: Sequence[Ways], masks: Sequence[int]) -> Row:
    return tuple(_within(parts, mask) for mask in masks)


def _within(parts: Sequence[Ways], mask: int) -> Ways:
    ways = ALWAYS
    for part in parts:
        if actuators_in(part) & mask:
            ways = both(ways, tuple(way.within(mask) for way in part))
    return ways


def _hardest(gates: dict[Row, list[int]]) -> list[Row]:
    """The needs that no other one implies; the gates of the others are taken to such a one's."""
    for row in list(gates):
        for other in gates:
            if other is not row and all(map(implied, row, other)):
                gates[other] += gates.pop(row)
                break
    return list(gates)


def _opposed(rows: Sequence[Row]) -> tuple[int, ...]:
    masks = [0] * len(rows)
    for (i, row), (j, other) in itertools.combinations(enumerate(rows), 2):
        if not all(map(agree, row, other)):
            masks[i] |= 1 << j
            masks[j] |= 1 << i
    return tuple(masks)
