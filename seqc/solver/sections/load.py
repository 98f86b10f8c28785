"""A load by sections, and the order of its passes that is sought."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from seqc.solver.positions import Positions
from seqc.solver.sections.groups import Groups
from seqc.solver.sections.section import Section


@dataclass(frozen=True, slots=True)
class Sought:
    """The numbers of the groups in an order that was found, its pulses, and the fewest of any."""

    order: tuple[int, ...]
    pulses: int
    least: int


class SectionLoad:
    """The groups of needs that can share a pass, and the sections that serve them."""

    def __init__(
        self, masks: Sequence[int], groups: Groups, start: Positions, end: Positions
    ) -> None:
        self.groups = groups
        self._start = start
        numbers = np.array(groups.numbers, np.int32).T
        self.sections = [
            Section(start.within(mask), wants, of_group, groups.needs, end.within(mask))
            for mask, wants, of_group in zip(masks, groups.wants, numbers, strict=True)
        ]
        self.closing = np.logical_and.reduce([section.closes for section in self.sections])
        """Which groups the last pass may load."""

    @property
    def preset(self) -> int:
        """The pulses that are counted at the start."""
        return sum(section.preset.bit_count() for section in self.sections)

    def passes(self, order: Sequence[int]) -> Iterator[tuple[int, Positions]]:
        """The needs of each group of an order, and what its pass holds so that least is moved."""
        holds = [Positions()] * len(order)
        for section in self.sections:
            path = section.path(order)
            holds = [hold.then(way) for hold, way in zip(holds, path, strict=True)]
        return zip((self.groups.members[group] for group in order), holds, strict=True)

    def pulses(self, order: Sequence[int]) -> int:
        """The fewest pulses of an order."""
        found, at = 0, self._start
        for _, hold in self.passes(order):
            found += at.missing(hold).bit_count()
            at = at.then(hold)
        return found
