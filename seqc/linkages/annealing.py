"""More columns than passes: a table whose places are exchanged until its columns agree.

Each place of the table holds one cell or none, with one row for all selectors of the cell. Two
places are exchanged at a time; worse tables are kept as long as it is hot (S. Kirkpatrick,
C. Gelatt and M. Vecchi, Optimization by simulated annealing, 1983). Random numbers come from a
fixed seed, and work is counted in looks at a place, so that equal input gives equal answers.
"""

from __future__ import annotations

import math
from random import Random

from seqc.linkages.question import Design, Question, numbered

HOT, COLD = 1.5, 0.08
SEED = 17


def annealed(question: Question, rows: int, columns: int, work: int) -> Design | None:
    """A design of so many rows and columns in which too many passes are gone, if one is found."""
    table = _Table(question, rows, columns)
    moves = max(1, work // table.work_of_a_move)
    random = Random(SEED)
    cost = table.cost()
    for number in range(moves):
        if cost == 0:
            return table.design()
        one, other = random.randrange(rows * columns), random.randrange(rows * columns)
        if not table.exchange(one, other):
            continue
        new = table.cost()
        heat = HOT * (COLD / HOT) ** (number / moves)
        if new > cost and random.random() >= math.exp((cost - new) / heat):
            table.exchange(one, other)
        else:
            cost = new
    return None


class _Table:
    """Cells at places, column by column; numbers beyond the cells stand for empty places."""

    def __init__(self, question: Question, rows: int, columns: int) -> None:
        wants = question.wants
        self.question, self.rows, self.columns = question, rows, columns
        empty = rows * columns - wants.cells
        by_likeness = sorted(range(wants.cells), key=lambda cell: [m[cell] for m in wants.thrown])
        self.at = [*by_likeness, *range(wants.cells, wants.cells + empty)]
        self.at = [self.at[row * columns + c] for c in range(columns) for row in range(rows)]
        self.sides = [
            ([*rest, *[0] * empty], [*thrown, *[0] * empty])
            for rest, thrown in zip(wants.rest, wants.thrown, strict=True)
        ]
        self.between = [[0] * columns for _ in range(columns)]
        for column in range(columns):
            self._look_at(column)

    @property
    def work_of_a_move(self) -> int:
        """How many places are looked at for one exchange and its cost."""
        return self.columns * (2 * self.rows * len(self.sides) + self.columns // 2)

    def exchange(self, one: int, other: int) -> bool:
        """Exchange what is at two places; False where that changes nothing."""
        cells, columns = self.question.wants.cells, {one // self.rows, other // self.rows}
        if one == other or min(self.at[one], self.at[other]) >= cells:
            return False
        if len(columns) == 1 and len(self.sides) == 0:
            return False
        self.at[one], self.at[other] = self.at[other], self.at[one]
        for column in columns:
            self._look_at(column)
        return True

    def _look_at(self, column: int) -> None:
        """Work out anew with which columns one can't share a pass."""
        rows, paced = self.rows, self.question.wants.paced
        own = self.at[column * rows : (column + 1) * rows]
        for other in range(self.columns):
            if other == column:
                continue
            opposed = 0
            theirs = self.at[other * rows : (other + 1) * rows]
            for rest, thrown in self.sides:
                for a, b in zip(own, theirs, strict=True):
                    opposed |= rest[a] & thrown[b] | thrown[a] & rest[b]
            self.between[column][other] = self.between[other][column] = opposed & paced

    def cost(self) -> int:
        """By how many passes the glyphs are over, in all.

        The columns that oppose every such column before them are counted, all glyphs at once.
        """
        paced, passes = self.question.wants.paced, self.question.passes
        reached = [paced, *[0] * passes]
        over = 0
        leading: list[int] = []
        for row in self.between:
            leads = paced
            for other, glyphs in enumerate(leading):
                leads &= ~glyphs | row[other]
                if not leads:
                    break
            leading.append(leads)
            over += (leads & reached[passes]).bit_count()
            for count in range(passes, 0, -1):
                reached[count] |= reached[count - 1] & leads
        return over

    def design(self) -> Design:
        """The design of the table."""
        wants, rows = self.question.wants, self.rows
        row_of, column_of = [0] * wants.cells, [0] * wants.cells
        for place, cell in enumerate(self.at):
            if cell < wants.cells:
                column_of[cell], row_of[cell] = divmod(place, rows)
        selector, gate = numbered(row_of), numbered(column_of)
        return Design((*[selector] * wants.parts, gate))
