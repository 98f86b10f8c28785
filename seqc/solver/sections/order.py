"""An order of the fewest passes for needs of very many ways, or none where they aren't such."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import prod

from seqc.solver.needs import Need
from seqc.solver.passes.held_karp import MOST_STOPS
from seqc.solver.positions import Positions, bits
from seqc.solver.sections.search import Row, SectionSearch
from seqc.solver.ways import ALWAYS, Ways, actuators_in, both

FEW_WAYS = 16
"""Needs with no more ways than these are searched through way by way."""

MOST_OF_SECTION = 16
"""So many ways a need may leave in one section."""

MOST_GROUPS = 500
"""In so many ways needs may share a pass."""


@dataclass(frozen=True, slots=True)
class SectionOrder:
    """The gates pass by pass with what each pass holds, the pulses, and the fewest of any order."""

    passes: tuple[tuple[tuple[int, ...], Positions], ...]
    pulses: int
    least: int


def order_by_sections(
    needs: Mapping[int, Need], start: Positions, end: Positions
) -> SectionOrder | None:
    """An order of the fewest passes for needs by gate.

    None where all needs have few ways, where they have many in one section, where needs are very
    many or may share passes in very many ways, and where no order was found, or none ends at `end`.
    """
    parts = [need.parts for need in needs.values()]
    most = max((prod(map(len, several)) for several in parts), default=0)
    if most <= FEW_WAYS or not all(parts):
        return None
    gates: dict[tuple[Ways, ...], list[int]] = {}
    for gate, need in needs.items():
        gates.setdefault(need.parts, []).append(gate)
    masks = _sections([*gates, ((end,),)])
    if len(gates) > MOST_STOPS or not all(_is_small(several, masks) for several in gates):
        return None
    groups = _groups([_row(several, masks) for several in gates])
    if groups is None:
        return None
    search = SectionSearch(masks, groups, start, end)
    found, least = search.best()
    if found is None:
        return None
    members = list(gates.values())
    operated = (
        tuple(gate for need in bits(group) for gate in members[need]) for group in found.order
    )
    passes = zip(operated, search.holds(found.order), strict=True)
    return SectionOrder(tuple(passes), found.pulses, least)


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


def _groups(rows: Sequence[Row]) -> dict[int, Row] | None:
    """All bit sets of needs that can share a pass with what they want; None for too many."""
    found = {1 << need: row for need, row in enumerate(rows)}
    waiting = list(found.items())
    while waiting:
        group, wanted = waiting.pop()
        for need in range(group.bit_length(), len(rows)):
            together = tuple(map(both, wanted, rows[need]))
            if all(together):
                found[group | 1 << need] = together
                waiting.append((group | 1 << need, together))
        if len(found) > MOST_GROUPS or max(map(len, wanted), default=0) > MOST_OF_SECTION:
            return None
    return found
