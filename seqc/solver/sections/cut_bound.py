"""How many pulses must still come, from the cuts of all sections at once.

To the bound for needs that leave actuators open the cuts are actuators, each as often as it weighs.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from seqc.solver.layers.bound import LayerBound
from seqc.solver.layers.cliques import maximal_cliques
from seqc.solver.layers.coded_needs import CodedNeeds, gathered
from seqc.solver.layers.states import States
from seqc.solver.layers.words import Words, count
from seqc.solver.passes.reduction import Component
from seqc.solver.positions import Positions
from seqc.solver.sections.cuts import END, PULSE, START, Cut, cuts_of
from seqc.solver.sections.section import Numbers, Section


class CutBound:
    """The bound for the needs of a load, of which no two of the first `apart` share a pass."""

    def __init__(self, sections: Sequence[Section], needs: int, apart: int, passes: int) -> None:
        several = [cuts_of(section) for section in sections]
        masks = _masks([sum(cut.weight for cut in cuts) for cuts in several])
        self._coded = CodedNeeds(_component(sections, several, needs), apart)
        self._bound = LayerBound(self._coded, maximal_cliques(self._coded.graph), passes)
        self._section_bits = [self._both_sides(mask) for mask in masks]
        preset = (mask for section, mask in zip(sections, masks, strict=True) if section.preset)
        self._preset = self._both_sides(sum(preset))

    def _both_sides(self, mask: int) -> Words:
        """The bits of some cuts, of both their sides."""
        thrown, rest = Positions(mask, mask), Positions(mask, 0)
        sides = self._coded.coding.columns([thrown, rest])
        return sides[:, :1] | sides[:, 1:]

    @property
    def start(self) -> Words:
        """Where the start stands, as one column."""
        return self._coded.start

    def after(self, at: Words, groups: NDArray[np.uint64]) -> Words:
        """Where passes for groups of needs lead."""
        nothing = np.zeros_like(self.start)
        needs = range(len(self._coded.needs))
        sets, number = np.unique(groups, return_inverse=True)
        wanted = gathered(self._coded.wants, needs, sets, nothing)[:, number]
        opposite = gathered(self._coded.opposites, needs, sets, nothing)[:, number]
        return at & ~opposite | wanted

    def settled(self, at: Words, section: int, needs: NDArray[np.intp]) -> Words:
        """Where one section stands after it was moved for certain needs."""
        mask = self._section_bits[section]
        wanted: Words = self._coded.wants[:, needs] & mask
        opposite = self._coded.opposites[:, needs] & mask
        return at & ~opposite | wanted

    def bounded(
        self, left: NDArray[np.uint64], at: Words, pulses: Numbers, below: int
    ) -> tuple[NDArray[np.intp], Numbers]:
        """The states that may come to fewer pulses than `below` in all, by number, and how few.

        The first setting of a cut that is still to come was counted at the start where actuators
        are preset.
        """
        to_come = count(self._preset).item() // 2 - count(at & self._preset)
        halves = (PULSE * pulses - to_come).astype(np.int16)
        states = States(left, at, halves, np.zeros(len(left), np.int32))
        kept, least = self._bound.bounded(states, PULSE * (below - 1) + 1)
        return kept, -(-least.astype(np.int32) // PULSE)


def _masks(widths: Sequence[int]) -> list[int]:
    """The cuts of each section as a bit set, after those of the sections before."""
    masks, first = [], 0
    for width in widths:
        masks.append((1 << width) - 1 << first)
        first += width
    return masks


def _component(
    sections: Sequence[Section], several: Sequence[Sequence[Cut]], needs: int
) -> Component:
    """The needs with start and end, as they speak of the cuts."""
    points = range(END, needs)
    known, thrown = dict.fromkeys(points, 0), dict.fromkeys(points, 0)
    index = 0
    for section, cuts in zip(sections, several, strict=True):
        wants = {START: START, END: END, **dict(enumerate(section.of_group[:needs].tolist()))}
        for cut in cuts:
            bit = (1 << cut.weight) - 1 << index
            index += cut.weight
            for point, want in wants.items():
                if want in cut.sides:
                    known[point] |= bit
                    thrown[point] |= bit if cut.sides[want] else 0
    at = {point: Positions(known[point], thrown[point]) for point in points}
    return Component(tuple((at[need],) for need in range(needs)), at[START], at[END])
