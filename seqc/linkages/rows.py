"""Whether a table of one cell a place can be filled, row by row.

Rows are alike until they hold a cell, so each row begins with the first cell that is left; columns
are told apart by the first row, whose cells stand in order. Two whole rows already say much of
which columns may share a pass, so few branches live longer than that.
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Iterator
from dataclasses import dataclass

from seqc.linkages.loading import Conflicts, crowded_with, within
from seqc.linkages.question import FREE, Design, Question, Shape, numbered
from seqc.solver.passes.colouring import EffortError

EMPTY = -1


def one_a_place(question: Question) -> bool:
    """Whether no two cells can share a place, so that the table can be filled row by row."""
    wants = question.wants
    if question.shape is not Shape.ANY or wants.parts != 1:
        return False
    if any(label != FREE for labels in question.fixed for label in labels):
        return False
    return question.every_picture or all(
        wants.opposed(0, cell, other) for cell in range(wants.cells) for other in range(cell)
    )


def filled(question: Question, rows: int, columns: int, effort: int) -> tuple[Design | None, int]:
    """A design of such a table, None if there is none; and the effort left.

    The effort is counted in looks at columns. Raises EffortError when that much doesn't decide it.
    """
    table = _Rows(question, rows, columns, effort)
    return table.search(), table.effort


@dataclass(slots=True)
class _Step:
    """A place that is being filled: what may still go there, and how to take it out again."""

    row: int
    untried: Iterator[tuple[int, int]]
    column: int = 0
    cell: int = EMPTY
    between: tuple[int, ...] = ()


class _Rows:
    """A table that is being filled; the cells that differ most come first."""

    def __init__(self, question: Question, rows: int, columns: int, effort: int) -> None:
        wants = question.wants
        self.question, self.columns, self.effort = question, columns, effort
        self.rest, self.thrown, self.paced = wants.rest[0], wants.thrown[0], wants.paced
        self.at = [[EMPTY] * columns for _ in range(rows)]
        self.between: Conflicts = [[0] * columns for _ in range(columns)]
        self.left = sorted(range(wants.cells), key=lambda cell: (-self._distance(cell), cell))
        self.rank = {cell: rank for rank, cell in enumerate(self.left)}
        self.spare = rows * columns - wants.cells
        self.leader_at = [0] * rows

    def _distance(self, cell: int) -> int:
        wants = self.question.wants
        return sum(wants.opposed(0, cell, other).bit_count() for other in range(wants.cells))

    def search(self) -> Design | None:
        """Fill place after place, and go back where nothing fits."""
        if self.spare < 0:
            return None
        made: list[_Step] = []
        step = self._begin(0)
        while True:
            if self._advance(step):
                made.append(step)
                if self.left:
                    step = self._begin(len(made))
                    continue
                if within(self.between, self.paced, self.question.passes):
                    return self._design()
            elif not made:
                return None
            step = made.pop()
            self._undo(step)

    def _begin(self, number: int) -> _Step:
        """The place of a number: the leader's, which may be in any column, or one beside it."""
        row, place = divmod(number, self.columns)
        if not place:
            leader = self.left[0]
            return _Step(row, iter([(leader, c) for c in range(self.columns if row else 1)]))
        others = [column for column in range(self.columns) if column != self.leader_at[row]]
        return _Step(row, iter(self._candidates(row, others[place - 1])))

    def _candidates(self, row: int, column: int) -> list[tuple[int, int]]:
        """What may go to a place: a cell of each signature that is left, or nothing."""
        before = EMPTY if row else self.rank.get(self.at[0][column - 1], len(self.rank))
        known: dict[tuple[int, int], tuple[int, int]] = {}
        for cell in self.left:
            if self.rank[cell] > before:
                known.setdefault((self.rest[cell], self.thrown[cell]), (cell, column))
        return [*known.values(), *([(EMPTY, column)] if self.spare else [])]

    def _advance(self, step: _Step) -> bool:
        """Put the next cell into the place that can be there."""
        for cell, column in step.untried:
            step.cell, step.column = cell, column
            self.effort -= self.columns
            if self.effort < 0:
                raise EffortError
            self._put(step)
            if step.cell == EMPTY or self._is_sound(step.column):
                return True
            self._undo(step)
        return False

    def _put(self, step: _Step) -> None:
        row, column, cell = self.at[step.row], step.column, step.cell
        if all(each == EMPTY for each in row):
            self.leader_at[step.row] = column
        step.between = tuple(self.between[column])
        if cell == EMPTY:
            self.spare -= 1
            return
        self.left.remove(cell)
        rest, thrown = self.rest[cell], self.thrown[cell]
        for other, beside in enumerate(row):
            if beside != EMPTY:
                opposed = rest & self.thrown[beside] | thrown & self.rest[beside]
                self.between[column][other] |= opposed & self.paced
                self.between[other][column] |= opposed & self.paced
        row[column] = cell

    def _undo(self, step: _Step) -> None:
        if step.cell == EMPTY:
            self.spare += 1
            return
        self.at[step.row][step.column] = EMPTY
        insort(self.left, step.cell, key=self.rank.__getitem__)
        for other, opposed in enumerate(step.between):
            self.between[step.column][other] = self.between[other][step.column] = opposed

    def _is_sound(self, column: int) -> bool:
        """Whether in no glyph more columns than passes, this one too, all oppose each other."""
        crowded, looks = crowded_with(self.between, column, self.paced, self.question.passes)
        self.effort -= looks
        return not crowded

    def _design(self) -> Design:
        cells = self.question.wants.cells
        row_of, column_of = [0] * cells, [0] * cells
        for row, line in enumerate(self.at):
            for column, cell in enumerate(line):
                if cell != EMPTY:
                    row_of[cell], column_of[cell] = row, column
        return Design((numbered(row_of), numbered(column_of)))
