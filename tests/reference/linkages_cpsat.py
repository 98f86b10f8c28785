"""The fewest actuators for a font as a model for OR-Tools CP-SAT; nothing here imports the search.

It speaks of what happens, not of columns that agree: every gate group has one pass in every glyph,
every selector group a position in every pass, and a cell gets its kind in the pass of its gate.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from ortools.sat.python import cp_model

Spot = tuple[int, int]
Route = Mapping[int, bool]
"""By the number of a selector, whether it is thrown."""


@dataclass
class LinkageModel:
    """Designs with at most so many actuators for glyphs given as the route of each cell.

    `shape` is `any`, `connected`, `line` or `run`; `built` has the groups that are fixed, by part
    and cell, -1 where a cell is free; the gate is the last part.
    """

    glyphs: Sequence[Sequence[Route]]
    spots: Sequence[Spot]
    parts: int
    passes: int
    most: int
    shape: str = "any"
    every_picture: bool = False
    built: Sequence[Sequence[int]] = ()
    paced: int = -1
    model: cp_model.CpModel = field(default_factory=cp_model.CpModel)
    at: dict[tuple[int, int, int], cp_model.IntVar] = field(default_factory=dict)

    def is_possible(self) -> bool:
        """Whether there is such a design."""
        self._groups()
        for number, glyph in enumerate(self.glyphs):
            self._load(glyph, self.paced < 0 or number < self.paced)
        if self.every_picture:
            self._spread_out()
        if self.shape in ("line", "run"):
            self._in_lines()
        while True:
            solver = cp_model.CpSolver()
            solver.parameters.num_workers = 1
            solver.parameters.random_seed = 0
            status = solver.solve(self.model)
            if status == cp_model.INFEASIBLE:
                return False
            assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
            if self.shape not in ("connected", "run") or not self._cut_apart(solver):
                return True

    @property
    def _cells(self) -> range:
        return range(len(self.spots))

    def _labels(self, part: int) -> range:
        return range(min(self.most - self.parts, len(self.spots) + self._fixed(part)))

    def _fixed(self, part: int) -> int:
        return 1 + max(self.built[part], default=-1) if self.built else 0

    def _groups(self) -> None:
        used = []
        for part in range(self.parts + 1):
            for label in self._labels(part):
                own = [self._at(part, cell, label) for cell in self._cells]
                used.append(some := self.model.new_bool_var(""))
                self.model.add_max_equality(some, own)
            for cell in self._cells:
                self.model.add_exactly_one(self.at[part, cell, n] for n in self._labels(part))
                if self.built:
                    self._fix(part, cell)
        self.model.add(sum(used) <= self.most)

    def _at(self, part: int, cell: int, label: int) -> cp_model.IntVar:
        return self.at.setdefault((part, cell, label), self.model.new_bool_var(""))

    def _fix(self, part: int, cell: int) -> None:
        """A built group keeps its cells, and takes no others."""
        own = self.built[part][cell]
        for label in range(self._fixed(part)):
            self.model.add(self.at[part, cell, label] == (own == label))

    def _load(self, glyph: Sequence[Route], paced: bool) -> None:
        """Each cell's way is set in the pass of its gate group."""
        gates = self._labels(self.parts)
        passes = range(self.passes if paced else len(gates))
        turn = {(c, q): self.model.new_bool_var("") for c in gates for q in passes}
        for column in gates:
            self.model.add_exactly_one(turn[column, q] for q in passes)
        thrown = {
            (part, label, q): self.model.new_bool_var("")
            for part in range(self.parts)
            for label in self._labels(part)
            for q in passes
        }
        for cell, route in enumerate(glyph):
            when = {q: self.model.new_bool_var("") for q in passes}
            self.model.add_exactly_one(when.values())
            for column, q in itertools.product(gates, passes):
                both = [self.at[self.parts, cell, column].negated(), turn[column, q].negated()]
                self.model.add_bool_or([*both, when[q]])
            for (part, wanted), q in itertools.product(route.items(), passes):
                for label in self._labels(part):
                    state = thrown[part, label, q]
                    here = [self.at[part, cell, label].negated(), when[q].negated()]
                    self.model.add_bool_or([*here, state if wanted else state.negated()])

    def _spread_out(self) -> None:
        """No two cells share a gate group and a group of any selector."""
        for part, (one, two) in itertools.product(
            range(self.parts), itertools.combinations(self._cells, 2)
        ):
            for label, column in itertools.product(self._labels(part), self._labels(self.parts)):
                shared = [self.at[part, cell, label] for cell in (one, two)]
                shared += [self.at[self.parts, cell, column] for cell in (one, two)]
                self.model.add_bool_or([each.negated() for each in shared])

    def _in_lines(self) -> None:
        for part, label in self._free():
            along = self.model.new_bool_var("")
            for one, two in itertools.combinations(self._cells, 2):
                (row, column), (other_row, other_column) = self.spots[one], self.spots[two]
                pair = [self.at[part, cell, label].negated() for cell in (one, two)]
                if row != other_row:
                    self.model.add_bool_or([*pair, along])
                if column != other_column:
                    self.model.add_bool_or([*pair, along.negated()])

    def _free(self) -> Iterator[tuple[int, int]]:
        for part in range(self.parts + 1):
            yield from ((part, label) for label in self._labels(part)[self._fixed(part) :])

    def _cut_apart(self, solver: cp_model.CpSolver) -> bool:
        """Forbid every group that falls apart; a whole one leaves a piece through its border."""
        cut = False
        for part, label in self._free():
            own = [c for c in self._cells if solver.boolean_value(self.at[part, c, label])]
            piece = self._piece(own)
            if len(piece) == len(own):
                continue
            cut = True
            other = next(cell for cell in own if cell not in piece)
            border = {n for cell in piece for n in self._beside(cell)} - piece
            for each in self._labels(part)[self._fixed(part) :]:
                ends = [self.at[part, cell, each].negated() for cell in (min(piece), other)]
                left = [self.at[part, cell, each].negated() for cell in piece - {min(piece)}]
                self.model.add_bool_or([*ends, *left, *(self.at[part, c, each] for c in border)])
        return cut

    def _piece(self, own: Sequence[int]) -> set[int]:
        piece, waiting = set(own[:1]), list(own[:1])
        while waiting:
            for cell in self._beside(waiting.pop()):
                if cell in own and cell not in piece:
                    piece.add(cell)
                    waiting.append(cell)
        return piece

    def _beside(self, cell: int) -> Iterator[int]:
        row, column = self.spots[cell]
        for other in self._cells:
            if abs(self.spots[other][0] - row) + abs(self.spots[other][1] - column) == 1:
                yield other
