"""Whether so many groups are enough: every cell put into the table in turn, and back again.

Groups that are still empty are alike, so only the first of them is tried. Glyph by glyph a bit
tells which columns can't share a pass; where more columns than there are passes oppose each other,
the branch ends.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from seqc.linkages.bounds import Sizes
from seqc.linkages.loading import Conflicts, crowded_with, within
from seqc.linkages.question import FREE, Design, Question, Shape
from seqc.linkages.shapes import may_grow
from seqc.solver.passes.colouring import EffortError


@dataclass(slots=True)
class _Step:
    """A choice that was made: the part and cell, the groups still to try, and how to go back."""

    part: int
    cell: int
    untried: Iterator[int]
    label: int = FREE
    used: int = 0
    held: tuple[int, int, int] = (0, 0, 0)
    between: tuple[int, ...] = ()


def fitting(question: Question, sizes: Sizes, effort: int) -> tuple[Design | None, int]:
    """A design with no more groups than these, None if there is none; and the effort left.

    The effort is counted in looks at columns. Raises EffortError when that much doesn't decide it.
    """
    filling = _Filling(question, sizes, effort)
    return filling.search(), filling.effort


class _Filling:
    """A table that is being filled."""

    def __init__(self, question: Question, sizes: Sizes, effort: int) -> None:
        self.question, self.sizes = question, sizes
        self.effort = effort
        self.wants = wants = question.wants
        self.gate = wants.parts
        self.labels = [[FREE] * wants.cells for _ in sizes]
        self.used = [question.built_groups(part) for part in range(len(sizes))]
        columns = sizes[-1]
        self.places = [[[(0, 0, 0)] * columns for _ in range(rows)] for rows in sizes[:-1]]
        self.between: Conflicts = [[0] * columns for _ in range(columns)]
        self.members: list[list[list[int]]] = [[[] for _ in range(size)] for size in sizes]
        self.order = _order(question)

    def search(self) -> Design | None:
        """Fill the table depth first."""
        self._spend(sum(self.sizes[:-1]) * self.sizes[-1])
        choices = [(part, cell) for cell in self.order for part in (self.gate, *range(self.gate))]
        made: list[_Step] = []
        step = self._begin(*choices[0])
        while True:
            if self._advance(step):
                self._spend(self.sizes[-1])
                made.append(step)
                if len(made) < len(choices):
                    step = self._begin(*choices[len(made)])
                    continue
                design = Design(tuple(map(tuple, self.labels)))
                if within(self.between, self.wants.paced, self.question.passes):
                    return design
            elif not made:
                return None
            step = made.pop()
            self._undo(step)

    def _spend(self, looks: int) -> None:
        self.effort -= looks
        if self.effort < 0:
            raise EffortError

    def _begin(self, part: int, cell: int) -> _Step:
        fixed = self.question.fixed[part][cell]
        if fixed != FREE:
            return _Step(part, cell, iter((fixed,)))
        least = self.question.built_groups(part)
        if self._is_idle(part, cell):
            return _Step(part, cell, iter((least,) if least < self.sizes[part] else ()))
        most = min(self.used[part] + 1, self.sizes[part])
        return _Step(part, cell, iter(range(least, most)))

    def _is_idle(self, part: int, cell: int) -> bool:
        """Whether it makes no difference to which group of a selector a cell belongs."""
        if part == self.gate or self.question.shape is not Shape.ANY or self.question.every_picture:
            return False
        return not (self.wants.rest[part][cell] or self.wants.thrown[part][cell])

    def _advance(self, step: _Step) -> bool:
        """Put the cell into the next group that takes it."""
        for label in step.untried:
            if not self._has_shape(step, label):
                continue
            step.label, step.used = label, self.used[step.part]
            self._put(step)
            if step.part == self.gate or self._is_sound(step):
                return True
            self._undo(step)
        return False

    def _has_shape(self, step: _Step, label: int) -> bool:
        """Whether the groups of the part can still get their shape, those cut off included."""
        question, part = self.question, step.part
        if question.shape is Shape.ANY or question.fixed[part][step.cell] != FREE:
            return True
        later = [
            question.spots[cell]
            for cell, own in enumerate(self.labels[part])
            if own == FREE and question.fixed[part][cell] == FREE and cell != step.cell
        ]
        least = question.built_groups(part)
        groups = [label]
        if question.shape is Shape.CONNECTED:
            groups += [other for other in range(least, self.used[part]) if other != label]
            self._spend(2 * len(groups) * self.sizes[-1])
        return all(
            may_grow(question.shape, self._spots(part, group, step.cell, label), later)
            for group in groups
        )

    def _spots(self, part: int, group: int, cell: int, label: int) -> list[tuple[int, int]]:
        """Where the cells of a group are, with the cell that is to go to a label."""
        own = [*self.members[part][group], *([cell] if group == label else [])]
        return [self.question.spots[each] for each in own]

    def _put(self, step: _Step) -> None:
        part, cell, label = step.part, step.cell, step.label
        self.labels[part][cell] = label
        self.members[part][label].append(cell)
        self.used[part] = max(self.used[part], label + 1)
        if part == self.gate:
            return
        column = self.labels[self.gate][cell]
        rest, thrown = self.wants.rest[part][cell], self.wants.thrown[part][cell]
        row = self.places[part][label]
        step.held, step.between = row[column], tuple(self.between[column])
        held = row[column]
        row[column] = held[0] | rest, held[1] | thrown, held[2] + 1
        for other, (other_rest, other_thrown, _) in enumerate(row):
            if other != column:
                opposed = (rest & other_thrown | thrown & other_rest) & self.wants.paced
                self.between[column][other] |= opposed
                self.between[other][column] |= opposed

    def _undo(self, step: _Step) -> None:
        part, cell = step.part, step.cell
        self.members[part][step.label].pop()
        self.labels[part][cell] = FREE
        self.used[part] = step.used
        if part == self.gate:
            return
        column = self.labels[self.gate][cell]
        self.places[part][step.label][column] = step.held
        for other, opposed in enumerate(step.between):
            self.between[column][other] = self.between[other][column] = opposed

    def _is_sound(self, step: _Step) -> bool:
        """Whether the last cell can stay where it is."""
        column = self.labels[self.gate][step.cell]
        rest, thrown, count = self.places[step.part][step.label][column]
        if rest & thrown or (count > 1 and self.question.every_picture):
            return False
        crowded, looks = crowded_with(self.between, column, self.wants.paced, self.question.passes)
        self._spend(looks)
        return not crowded


def _order(question: Question) -> list[int]:
    """Reading order for shapes; else each cell as different as can be from those before it."""
    cells = list(range(question.wants.cells))
    if question.shape is not Shape.ANY:
        return sorted(cells, key=lambda cell: question.spots[cell])
    order: list[int] = []
    near = dict.fromkeys(cells, 0)
    while near:
        cell = max(near, key=lambda each: (near[each], -each))
        order.append(cell)
        del near[cell]
        for other in near:
            near[other] += _distance(question, cell, other)
    return order


def _distance(question: Question, one: int, other: int) -> int:
    wants = question.wants
    return sum(wants.opposed(part, one, other).bit_count() for part in range(wants.parts))
