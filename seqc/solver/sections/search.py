"""The search for the order of fewest pulses: all states of a pass at once, by sections.

A state is what is left and how far each section has come. Of equal states the one with the fewest
pulses stays, and only those go on that may come to fewer pulses than the best order so far.
A section of which all that is left wants the same is moved at once, and one of which nothing is
wanted any more is forgotten; so more states become equal.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from seqc.solver.layers.cliques import maximal_cliques
from seqc.solver.layers.dominance import cheapest
from seqc.solver.layers.fitting import Fitting
from seqc.solver.layers.states import States
from seqc.solver.passes.colouring import ClassSearch, clique
from seqc.solver.passes.order import EndError
from seqc.solver.sections.cut_board import CutBoard
from seqc.solver.sections.cut_bound import CutBound
from seqc.solver.sections.load import SectionLoad, Sought
from seqc.solver.sections.moves import Numbers
from seqc.solver.sections.section import Section

WIDTHS = (100, 3_000, 300_000)
"""So many states a pass may keep, in one search after the other until one keeps all it has to."""

PAIRED_AT_ONCE = 200_000
"""So many groups go on from states at a time."""

FAR = 10_000
KEEP, FORGET = -1, -2

Indexes = NDArray[np.intp]


class Layer(NamedTuple):
    """The states after one pass, with the cuts for positions.

    A column each, with the state of every section and the group that was loaded.
    """

    states: States
    numbers: Numbers
    group: Indexes

    def of(self, chosen: Indexes | NDArray[np.bool_]) -> Layer:
        """Some of the states."""
        return Layer(self.states.of(chosen), self.numbers[:, chosen], self.group[chosen])

    @classmethod
    def of_all(cls, several: Sequence[Layer]) -> Layer:
        """All of several."""
        return cls(
            States.of_all([each.states for each in several]),
            np.concatenate([each.numbers for each in several], axis=1),
            np.concatenate([each.group for each in several]),
        )

    def merged(self) -> Layer:
        """Of equal states the one with the fewest pulses."""
        return self.of(cheapest((self.states.left, *self.numbers), self.states.pulses))


class SectionSearch:
    """The search for one load within so many passes, by sections."""

    def __init__(self, load: SectionLoad, classes: ClassSearch, passes: int) -> None:
        self._needs = load.groups.needs
        self._passes = passes
        self._groups = np.array(load.groups.members, np.uint64)
        self._sections = load.sections
        self._preset = load.preset
        self._closing = load.closing
        self._fitting = Fitting(classes, maximal_cliques(classes.graph))
        apart = clique(classes.graph, (1 << self._needs) - 1).bit_count()
        self._bound = CutBound(CutBoard.of(load), apart, passes)

    def best(self) -> Sought | None:
        """The best order that is found, if any is.

        Raises EndError where all was searched and no order ends as it must.
        """
        best: tuple[int, ...] = ()
        pulses, least = FAR, 0
        for width in WIDTHS:
            layers, left_out = self._search(pulses, width)
            if layers:
                best, pulses = _order(layers), int(layers[-1].states.pulses[0])
            least = max(least, min(pulses, left_out))
            if least == pulses:
                break
        if least == FAR:
            raise EndError
        return Sought(best, pulses, least) if best else None

    def _search(self, below: int, width: int) -> tuple[list[Layer], int]:
        """The layers to the best order with fewer pulses than `below`, none if there is none.

        The last layer is its end. With that the least pulses of what was left out.
        """
        layers = [self._first()]
        left_out = FAR
        for to_come in reversed(range(self._passes)):
            layer = self._next(layers[-1], below, to_come)
            if to_come:
                layer, dropped = self._narrowed(layer, below, width)
                left_out = min(left_out, dropped)
            if not len(layer.group):
                return [], left_out
            layers.append(layer)
        layers[-1] = layer.of(np.argsort(layer.states.pulses)[:1])
        return layers, left_out

    def _first(self) -> Layer:
        states = States(
            np.array([(1 << self._needs) - 1], np.uint64),
            self._bound.start,
            np.array([self._preset], np.int16),
            np.zeros(1, np.int32),
        )
        numbers = np.zeros((len(self._sections), 1), np.int32)
        return Layer(states, numbers, np.zeros(1, np.intp))

    def _next(self, layer: Layer, below: int, to_come: int) -> Layer:
        """The states after one more pass that may still come to fewer pulses."""
        found = []
        at_once = max(1, PAIRED_AT_ONCE // len(self._groups))
        for first in range(0, len(layer.group), at_once):
            before, group = self._pairs(layer.states.left[first : first + at_once], to_come)
            after = self._passed(layer, before + first, group, below, to_come)
            after = self._settled(after).merged() if to_come else after
            found.append(after.of(self._bound.bounded(after.states, below)[0]))
        return Layer.of_all(found).merged()

    def _pairs(self, left: NDArray[np.uint64], to_come: int) -> tuple[Indexes, Indexes]:
        """By number every state with every group that leaves what fits into the passes to come."""
        sets, number = np.unique(left, return_inverse=True)
        groups = [self._within(chosen, to_come) for chosen in sets]
        group = np.concatenate(groups)
        place = np.repeat(np.arange(len(sets)), [len(each) for each in groups])
        after, inverse = np.unique(sets[place] ^ self._groups[group], return_inverse=True)
        fit = self._fitting.fitting(after, to_come)[inverse]
        group, place = group[fit], place[fit]
        counts = np.bincount(place, minlength=len(sets))
        begins = np.cumsum(counts) - counts
        onward = counts[number]
        states = np.repeat(np.arange(len(left)), onward)
        ranks = np.arange(len(states)) - np.repeat(np.cumsum(onward) - onward, onward)
        return states, group[begins[number[states]] + ranks]

    def _within(self, left: np.uint64, to_come: int) -> Indexes:
        """The groups that only have needs that are left; in the last pass those that close."""
        inside = self._groups & ~left == 0
        return np.flatnonzero(inside if to_come else inside & self._closing)

    def _passed(
        self, layer: Layer, before: Indexes, group: Indexes, below: int, to_come: int
    ) -> Layer:
        """What groups lead to from states, without those that could have taken more along."""
        left = layer.states.left[before] ^ self._groups[group]
        pulses = layer.states.pulses[before]
        numbers = layer.numbers[:, before]
        idle = left.copy()
        for section, states in zip(self._sections, numbers, strict=True):
            wants = (section.of_group if to_come else section.of_closing)[group]
            added, states[:] = section.moves.after(states, wants)
            pulses += added
            idle &= section.moves.served(states)
        kept = np.flatnonzero((pulses < below) & (idle == 0))
        at = self._bound.after(layer.states.at[:, before[kept]], self._groups[group[kept]])
        states = States(left[kept], at, pulses[kept], before[kept].astype(np.int32))
        return Layer(states, numbers[:, kept], group[kept])

    def _settled(self, layer: Layer) -> Layer:
        """The states with sections moved and forgotten where what is left allows it."""
        sets, number = np.unique(layer.states.left, return_inverse=True)
        pulses, at = layer.states.pulses.copy(), layer.states.at.copy()
        numbers = layer.numbers.copy()
        for place, section in enumerate(self._sections):
            due = self._due(section, sets)[number]
            numbers[place, due == FORGET] = 0
            moved = np.flatnonzero(due >= 0)
            needs = due[moved]
            added, numbers[place, moved] = section.moves.after(
                numbers[place, moved], section.of_group[needs]
            )
            pulses[moved] += added
            at[:, moved] = self._bound.settled(at[:, moved], place, needs)
        return Layer(layer.states._replace(pulses=pulses, at=at), numbers, layer.group)

    def _due(self, section: Section, sets: NDArray[np.uint64]) -> Indexes:
        """By set of needs left one for which the section can be moved at once, or what else."""
        if section.end.known:
            return np.full(len(sets), KEEP)
        due = np.full(len(sets), FORGET)
        kinds = np.zeros(len(sets), np.int32)
        for need, want in enumerate(section.of_group[: self._needs].tolist()):
            if want:
                left = sets >> np.uint64(need) & np.uint64(1) == 1
                alike = (due == FORGET) | (due >= 0) & (kinds == want)
                due[left] = np.where(alike, need, KEEP)[left]
                kinds[left] = want
        return due

    def _narrowed(self, layer: Layer, below: int, width: int) -> tuple[Layer, int]:
        """As many states as may be kept, the most hopeful, and the least that was left out."""
        if len(layer.group) <= width:
            return layer, FAR
        kept, least = self._bound.bounded(layer.states, below)
        rank = np.argsort(least, kind="stable")
        dropped = least[rank[width:]]
        return layer.of(kept[rank[:width]]), int(dropped[0]) if len(dropped) else FAR


def _order(layers: Sequence[Layer]) -> tuple[int, ...]:
    """The groups on the way to the first state of the last layer, by number."""
    found: list[int] = []
    place = 0
    for layer in reversed(layers[1:]):
        found.append(int(layer.group[place]))
        place = int(layer.states.before[place])
    return tuple(reversed(found))
