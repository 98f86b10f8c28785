"""The smallest repair as a model for OR-Tools CP-SAT.

Each actuator may fall into as many parts as it has cells; each cell has a part of every actuator
that moves it. In each glyph each cell takes one route to its kind, and two cells of one metering
part can't take routes that need the same part of a selector at rest and thrown.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence

from ortools.sat.python import cp_model

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Branch, Feed, Part

Route = Mapping[str, bool]


def fewest_added(machine: Machine, glyphs: Sequence[Glyph]) -> int:
    """The fewest actuators to add by splitting so that all glyphs are within reach."""
    return _Model(machine).solved(glyphs)


def _routes(feed: Feed) -> Iterator[tuple[str, Route]]:
    waiting: list[tuple[Feed, dict[str, bool]]] = [(feed, {})]
    while waiting:
        at, way = waiting.pop()
        if isinstance(at, Branch):
            waiting.append((at.rest, {**way, at.selector.name: False}))
            waiting.append((at.thrown, {**way, at.selector.name: True}))
        else:
            yield at.name, way


class _Model:
    def __init__(self, machine: Machine) -> None:
        self.machine = machine
        self.lane = machine.lanes[0]
        self.model = cp_model.CpModel()
        self.parts: dict[tuple[int, int], cp_model.IntVar] = {}
        self.split: dict[tuple[int, int, int], cp_model.IntVar] = {}
        self.extra: list[cp_model.IntVar] = []
        names = {self.lane.metering.name, *(part.name for part in self.lane.selectors)}
        for actuator in machine.actuators:
            if actuator.part.name in names:
                self._add_parts(
                    actuator.index, [self.lane.grid.index_of[cell] for cell in actuator.cells]
                )

    def _add_parts(self, actuator: int, cells: Sequence[int]) -> None:
        most = self.model.new_int_var(0, len(cells) - 1, "")
        self.extra.append(most)
        for rank, cell in enumerate(cells):
            part = self.model.new_int_var(0, rank, "")
            self.model.add(part <= most)
            self.parts[actuator, cell] = part
        for a, b in itertools.combinations(cells, 2):
            differs = self.model.new_bool_var("")
            first, second = self.parts[actuator, a], self.parts[actuator, b]
            self.model.add(first != second).only_enforce_if(differs)
            self.split[actuator, min(a, b), max(a, b)] = differs

    def _moved_by(self, name: str, cell: int) -> int:
        lane = self.lane
        parts: tuple[Part, ...] = (*lane.selectors, lane.metering)
        part = next(part for part in parts if part.name == name)
        return self.machine.actuator_of(part, lane.grid, lane.grid.cells[cell]).index

    def solved(self, glyphs: Sequence[Glyph]) -> int:
        for glyph in glyphs:
            taken = [self._taken(kind) for kind in glyph.kinds]
            for a, b in itertools.combinations(range(len(glyph.kinds)), 2):
                gate = self._moved_by(self.lane.metering.name, a)
                if gate == self._moved_by(self.lane.metering.name, b):
                    self._keep_apart(gate, a, b, taken)
        self.model.minimize(sum(self.extra))
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        status = solver.solve(self.model)
        assert status == cp_model.OPTIMAL
        return round(solver.objective_value)

    def _taken(self, kind: str) -> list[tuple[cp_model.IntVar, Route]]:
        """The routes to a kind, one of which is taken."""
        ways = [way for name, way in _routes(self.lane.feed) if name == kind]
        taken = [(self.model.new_bool_var(""), way) for way in ways]
        self.model.add_exactly_one(variable for variable, _ in taken)
        return taken

    def _keep_apart(
        self, gate: int, a: int, b: int, taken: Sequence[list[tuple[cp_model.IntVar, Route]]]
    ) -> None:
        for (first, way), (second, other) in itertools.product(taken[a], taken[b]):
            for name in way.keys() & other.keys():
                selector = self._moved_by(name, a)
                if way[name] != other[name] and selector == self._moved_by(name, b):
                    apart = [self.split[gate, a, b], self.split[selector, a, b]]
                    self.model.add_bool_or([first.negated(), second.negated(), *apart])
