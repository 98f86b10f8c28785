"""Designs that need no search, since nothing can be in the way of their columns.

Where the gate has no more groups than there are passes, no two need agree. Every cell only has to
find a row of its own among those cells of its column that it opposes; cells are dealt to the
columns one by one, each where it asks for the fewest rows more. Where a row has cells of one
signature only, all columns agree.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from seqc.linkages.question import FREE, Design, Question, numbered


def dealt(question: Question) -> Iterator[Design]:
    """A design for each number of columns up to the passes, built ones among them."""
    built = question.built_groups(question.wants.parts)
    for columns in range(max(1, built), max(built + 1, question.passes) + 1):
        if columns > question.wants.cells:
            return
        design = _Deal(question, columns).design()
        if design is not None:
            yield design


def by_signature(question: Question) -> Iterator[Design]:
    """Rows of cells that want the same throughout, in one column or side by side in several."""
    wants = question.wants
    signatures = list(zip(*wants.rest, *wants.thrown, *question.fixed, strict=True))
    rank = [signatures[:cell].count(own) for cell, own in enumerate(signatures)]
    for columns in range(1, max(rank) + 2):
        rows = [(own, at // columns) for own, at in zip(signatures, rank, strict=True)]
        selector, gate = numbered(rows), numbered([at % columns for at in rank])
        yield as_built(question, [*[selector] * wants.parts, gate])
        if not question.every_picture:
            return


def as_built(question: Question, labels: Sequence[Sequence[int]]) -> Design:
    """Labels for the cells that aren't built, around the built ones."""
    return Design(
        tuple(
            numbered(
                [
                    (group != FREE, group if group != FREE else label)
                    for group, label in zip(fixed, own, strict=True)
                ]
            )
            for own, fixed in zip(labels, question.fixed, strict=True)
        )
    )


class _Deal:
    """Cells that are being dealt to columns."""

    def __init__(self, question: Question, columns: int) -> None:
        self.question, self.columns = question, columns
        parts = range(question.wants.parts)
        self.rows: list[list[list[list[int]]]] = [[[] for _ in range(columns)] for _ in parts]
        self.labels = [list(labels) for labels in question.fixed]
        self.most = [0 for _ in parts]

    def design(self) -> Design | None:
        """Each cell where it costs least; None if a free cell finds only built columns."""
        wants, gate = self.question.wants, self.question.wants.parts
        built = self.question.built_groups(gate)
        for cell in range(wants.cells):
            fixed = self.question.fixed[gate][cell]
            open_to = range(built, self.columns) if fixed == FREE else (fixed,)
            if not open_to:
                return None
            column = min(open_to, key=lambda each: (*self._cost(cell, each), each))
            self.labels[gate][cell] = column
            for part in range(gate):
                if self.question.fixed[part][cell] == FREE:
                    self._put(part, cell, column)
        return Design(tuple(numbered(labels) for labels in self.labels))

    def _cost(self, cell: int, column: int) -> tuple[int, int]:
        """How many rows more a cell asks for: beyond those of all columns, and of its own."""
        more = own = 0
        for part, columns in enumerate(self.rows):
            rows = columns[column]
            if self.question.fixed[part][cell] == FREE and self._row(part, cell, rows) == len(rows):
                own += len(rows) + 1
                more += len(rows) >= self.most[part]
        return more, own

    def _row(self, part: int, cell: int, rows: list[list[int]]) -> int:
        """The first row of a column that takes a cell, or the next one."""
        if self.question.every_picture:
            return len(rows)
        opposed = self.question.wants.opposed
        for number, row in enumerate(rows):
            if not any(opposed(part, cell, other) for other in row):
                return number
        return len(rows)

    def _put(self, part: int, cell: int, column: int) -> None:
        rows = self.rows[part][column]
        number = self._row(part, cell, rows)
        if number == len(rows):
            rows.append([])
        rows[number].append(cell)
        self.most[part] = max(self.most[part], len(rows))
        self.labels[part][cell] = self.question.built_groups(part) + number
