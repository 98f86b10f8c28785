"""The solver's questions as models for OR-Tools CP-SAT; nothing here imports the solver."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from ortools.sat.python import cp_model

from reference.brute import Load, Setting
from seqc.machine.parts import Branch, Cell, Feed


@dataclass
class _PassModel:
    """Groups in passes: which pass takes each group, and where each selector stands in each."""

    load: Load
    start: Setting
    count: int
    model: cp_model.CpModel = field(default_factory=cp_model.CpModel)

    def build(self) -> cp_model.LinearExprT:
        """All constraints; the selector pulses."""
        model = self.model
        names = range(len(self.load.selectors))
        thrown = [[model.new_bool_var(f"p{t}_{a}") for a in names] for t in range(self.count)]
        moves = []
        for a, at in enumerate(self.start):
            before: cp_model.IntVar | int | None = None if at is None else int(at)
            for t in range(self.count):
                # A position that isn't known takes one pulse at the start of the first pass; the
                # references that count it so are asked about known positions only.
                assert before is not None
                moved = model.new_bool_var(f"m{t}_{a}")
                model.add(moved >= thrown[t][a] - before)
                model.add(moved >= before - thrown[t][a])
                moves.append(moved)
                before = thrown[t][a]
        for group in self.load.groups:
            taken = [model.new_bool_var(f"{group.name}_{t}") for t in range(self.count)]
            model.add_exactly_one(taken)
            for t in range(self.count):
                for cell in group.cells:
                    self._offer(cell, thrown[t], taken[t])
        return sum(moves)

    def _offer(self, cell: Cell, thrown: Sequence[cp_model.IntVar], taken: cp_model.IntVar) -> None:
        """Where the pass is taken, the selectors offer the cell its kind by one of its routes."""
        kind = self.load.glyph.kinds[self.load.machine.lanes[0].grid.index_of[cell]]
        chosen = []
        for route in self._routes(cell, kind):
            along = self.model.new_bool_var("")
            for a, at in route.items():
                self.model.add_implication(along, thrown[a] if at else thrown[a].negated())
            chosen.append(along)
        self.model.add_bool_or(chosen).only_enforce_if(taken)

    def _routes(self, cell: Cell, kind: str) -> Iterator[Mapping[int, bool]]:
        lane = self.load.machine.lanes[0]
        waiting: list[tuple[Feed, dict[int, bool]]] = [(lane.feed, {})]
        while waiting:
            feed, route = waiting.pop()
            if not isinstance(feed, Branch):
                if feed.name == kind:
                    yield route
                continue
            actuator = self.load.machine.actuator_of(feed.selector, lane.grid, cell)
            a = self.load.number_of[actuator.index]
            waiting += [(feed.rest, {**route, a: False}), (feed.thrown, {**route, a: True})]


def passes_and_pulses(load: Load, start: Setting) -> tuple[int, int] | None:
    """The fewest passes, and of those the fewest selector pulses; None if it can't be loaded."""
    for count in range(1, len(load.groups) + 1):
        question = _PassModel(load, start, count)
        pulses = question.build()
        question.model.minimize(pulses)
        solver = _solver()
        status = solver.solve(question.model)
        if status == cp_model.OPTIMAL:
            return count, round(solver.objective_value)
        assert status == cp_model.INFEASIBLE
    return None


def shortest_open_way(codes: Sequence[int], start: int, workers: int = 1) -> tuple[int, list[int]]:
    """The fewest bits to flip from a start through all codes, and the order of the codes.

    A circuit of arcs with costs: node 0 is the start; the way back to it costs nothing.
    """
    model = cp_model.CpModel()
    nodes = [start, *dict.fromkeys(codes)]
    pairs = itertools.permutations(range(len(nodes)), 2)
    arcs = [(i, j, model.new_bool_var("")) for i, j in pairs]
    model.add_circuit(arcs)
    model.minimize(sum((nodes[i] ^ nodes[j]).bit_count() * used for i, j, used in arcs if j))
    solver = _solver(workers)
    status = solver.solve(model)
    assert status == cp_model.OPTIMAL
    after = {i: j for i, j, used in arcs if solver.boolean_value(used)}
    order, node = [], after[0]
    while node:
        order.append(nodes[node])
        node = after[node]
    return round(solver.objective_value), order


def _solver(workers: int = 1) -> cp_model.CpSolver:
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = workers
    solver.parameters.random_seed = 0
    return solver
