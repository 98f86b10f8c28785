"""An order of the fewest passes for needs of very many ways, or none where they aren't such."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import prod
from typing import TYPE_CHECKING

from seqc.solver.needs import Need
from seqc.solver.passes.colouring import MOST_NODES, ClassSearch, Colouring
from seqc.solver.passes.order import MOST_PASSES
from seqc.solver.positions import Positions, bits
from seqc.solver.sections.groups import groups_of
from seqc.solver.sections.rows import rows_of

if TYPE_CHECKING:
    from seqc.solver.sections.load import SectionLoad, Sought

FEW_WAYS = 16
"""Needs with no more ways than these are searched through way by way."""

MOST_NEEDS = 64
"""So many needs fit into a word."""


@dataclass(frozen=True, slots=True)
class SectionOrder:
    """The gates pass by pass with what each pass holds, and the pulses.

    No order has fewer passes than `least_passes`, and none in as many passes fewer pulses than
    `least`.
    """

    passes: tuple[tuple[tuple[int, ...], Positions], ...]
    pulses: int
    least_passes: int
    least: int


def order_by_sections(
    needs: Mapping[int, Need], start: Positions, end: Positions
) -> SectionOrder | None:
    """An order of the fewest passes for needs by gate.

    None where all needs have few ways, where they have many in one section, where needs are very
    many or may share passes in very many ways, and where no order was found. Of many passes the
    order is a good one with a bound. Raises EndError where no order ends at `end`.
    """
    parts = [need.parts for need in needs.values()]
    most = max((prod(map(len, several)) for several in parts), default=0)
    if most <= FEW_WAYS or not all(parts):
        return None
    found = rows_of(needs, end)
    if found is None or len(found.rows) > MOST_NEEDS:
        return None
    groups = groups_of(found.rows)
    if groups is None:
        return None
    classes = ClassSearch(found.graph, frozenset(groups.members).__contains__)
    colouring = classes.fewest(MOST_NODES)
    # Imported only here, where it is needed: the import of numpy takes longer than most plans.
    from seqc.solver.sections.load import SectionLoad

    load = SectionLoad(found.masks, groups, start, end)
    sought = _sought(load, classes, colouring)
    if sought is None:
        return None
    passes = (
        (tuple(gate for need in bits(group) for gate in found.gates[need]), hold)
        for group, hold in load.passes(sought.order)
    )
    return SectionOrder(tuple(passes), sought.pulses, colouring.least, sought.least)


def _sought(load: SectionLoad, classes: ClassSearch, colouring: Colouring) -> Sought | None:
    from seqc.solver.sections.estimate import estimated
    from seqc.solver.sections.search import SectionSearch

    count = len(colouring.classes)
    if count > MOST_PASSES:
        return estimated(load, colouring)
    return SectionSearch(load, classes, count).best()
