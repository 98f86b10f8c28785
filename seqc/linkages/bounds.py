"""Counting bounds: how many groups of each part are needed at least.

In one column of the table (the cells of one gate group) cells that oppose each other need rows of
their own, so s rows and g columns hold at most s g cells that all oppose each other. In one pass
all columns agree, so each of these cells needs a row of its own.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from functools import cached_property
from itertools import count

from seqc.linkages.question import FREE, Question, Shape
from seqc.machine.electrics import ceil_div
from seqc.solver.passes.colouring import clique

Sizes = tuple[int, ...]
"""How many groups each part has, the gate last."""


class Bounds:
    """The least sizes that a question allows."""

    def __init__(self, question: Question) -> None:
        self.question = question

    @cached_property
    def _apart(self) -> tuple[int, ...]:
        """For each selector how many cells need places of their own."""
        wants = self.question.wants
        if self.question.every_picture:
            return (wants.cells,) * wants.parts
        return tuple(self._opposed(part, -1) for part in range(wants.parts))

    @cached_property
    def _at_once(self) -> tuple[int, ...]:
        """For each selector how many rows one pass alone needs."""
        wants = self.question.wants
        return tuple(self._opposed(part, wants.paced) for part in range(wants.parts))

    def _opposed(self, part: int, glyphs: int) -> int:
        """How many cells at least oppose each other in some of these glyphs: a greedy clique."""
        wants = self.question.wants
        graph = [
            sum(
                bool(wants.opposed(part, cell, other) & glyphs) << other
                for other in range(wants.cells)
            )
            for cell in range(wants.cells)
        ]
        return clique(graph, (1 << wants.cells) - 1).bit_count()

    def rows(self, part: int, columns: int) -> int:
        """The fewest groups of a selector, if the gate has so many."""
        lower_bound = ceil_div(self._apart[part], columns)
        if self.question.passes == 1:
            lower_bound = max(lower_bound, self._at_once[part], self._alike(part, columns))
        return max(lower_bound, self._least_groups(part))

    def _alike(self, part: int, columns: int) -> int:
        """The rows of one pass where every picture is in reach: so many cells of each signature.

        It holds where cells of different signatures oppose each other.
        """
        wants = self.question.wants
        sizes = Counter(zip(wants.rest[part], wants.thrown[part], strict=True)).values()
        if not self.question.every_picture or len(sizes) > self._at_once[part]:
            return 0
        return sum(ceil_div(size, columns) for size in sizes)

    @cached_property
    def columns(self) -> int:
        """The fewest groups of the gate."""
        return self._least_groups(self.question.wants.parts)

    def _least_groups(self, part: int) -> int:
        """Those that are built, and as many as the shape needs for the other cells."""
        question = self.question
        free = [cell for cell, label in enumerate(question.fixed[part]) if label == FREE]
        groups = 1 if free else 0
        if question.shape in (Shape.LINE, Shape.RUN) and free:
            spots = [question.spots[cell] for cell in free]
            lines = (len({spot[way] for spot in spots}) for way in (0, 1))
            groups = ceil_div(len(free), max(lines))
        return question.built_groups(part) + groups

    @property
    def lower_bound(self) -> int:
        """No design has fewer actuators."""
        return next(total for total in count(1) if next(self.splits(total), None))

    def splits(self, total: int) -> Iterator[Sizes]:
        """Every way to give so many actuators to the parts that the bounds allow."""
        parts = self.question.wants.parts
        for columns in range(self.columns, total - parts + 1):
            lower_bound = [self.rows(part, columns) for part in range(parts)]
            spare = total - columns - sum(lower_bound)
            if spare >= 0:
                for more in _shares(spare, parts):
                    rows = (low + extra for low, extra in zip(lower_bound, more, strict=True))
                    yield (*rows, columns)


def _shares(spare: int, parts: int) -> Iterator[Sizes]:
    """Every way to part a number among so many."""
    if parts == 1:
        yield (spare,)
        return
    for first in range(spare + 1):
        for rest in _shares(spare - first, parts - 1):
            yield (first, *rest)
