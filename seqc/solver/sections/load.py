"""A load by sections, and the order of its passes that is sought."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from seqc.solver.positions import Positions
from seqc.solver.sections.all_sections import AllSections, Rows
from seqc.solver.sections.groups import Groups
from seqc.solver.sections.moves import Numbers
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

    @property
    def first_settings(self) -> int:
        """So many pulses at least set what isn't known, where that isn't counted as a move."""
        return sum(section.first_settings for section in self.sections if section.preset)

    def passes(self, order: Sequence[int]) -> Iterator[tuple[int, Positions]]:
        """The needs of each group of an order, and what its pass holds so that least is moved."""
        holds = [Positions()] * len(order)
        for section in self.sections:
            path = section.path(order)
            holds = [hold.then(way) for hold, way in zip(holds, path, strict=True)]
        return zip((self.groups.members[group] for group in order), holds, strict=True)

    @cached_property
    def _all(self) -> AllSections:
        return AllSections(self.sections)

    @cached_property
    def _wants(self) -> tuple[Numbers, Numbers]:
        """What each group wants of each section in any pass but the last, and in the last."""
        return (
            np.array([section.of_group for section in self.sections]).T,
            np.array([section.of_closing for section in self.sections]).T,
        )

    def pulses_of(self, orders: NDArray[np.intp]) -> Rows:
        """The fewest pulses of each of some orders, a row each, whose last groups can be last."""
        passes, closing = self._wants
        wanted = [*passes[orders.T[:-1]], closing[orders[:, -1]]]
        return self.preset + self._all.pulses_of(wanted)
