"""How many pulses must still come, from the cuts of all sections at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from seqc.solver.layers.bound import LayerBound
from seqc.solver.layers.cliques import maximal_cliques
from seqc.solver.layers.coded_needs import CodedNeeds, gathered
from seqc.solver.layers.states import States
from seqc.solver.layers.words import Counts, Words, count
from seqc.solver.positions import Positions
from seqc.solver.sections.cut_board import CutBoard


class CutBound:
    """The bound for the needs of a load, of which no two of the first `apart` share a pass."""

    def __init__(self, board: CutBoard, apart: int, passes: int) -> None:
        self._per_pulse = board.per_pulse
        self._coded = CodedNeeds(board.component, apart)
        self._bound = LayerBound(self._coded, maximal_cliques(self._coded.graph), passes)
        self._section_bits = [self._both_sides(mask) for mask in board.masks]
        self._preset = self._both_sides(board.preset)

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

    def bounded(self, states: States, below: int) -> tuple[NDArray[np.intp], Counts]:
        """The states that may come to fewer pulses than `below` in all, by number, and how few.

        The first setting of a cut that is still to come was counted at the start where actuators
        are preset.
        """
        to_come = count(self._preset).item() // 2 - count(states.at & self._preset)
        moved = states._replace(pulses=self._per_pulse * states.pulses - to_come)
        kept, least = self._bound.bounded(moved, self._per_pulse * (below - 1) + 1)
        return kept, -(-least // self._per_pulse)
