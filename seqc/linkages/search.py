"""The fewest actuators for so many passes: bounds from below, designs from above.

What the exact search can't decide within its effort is left open, and the bound says how much.
"""

from __future__ import annotations

from collections.abc import Iterator

from seqc.linkages.annealing import annealed
from seqc.linkages.bounds import Bounds, Sizes
from seqc.linkages.dealt import as_built, by_signature, dealt
from seqc.linkages.exact import fitting
from seqc.linkages.loading import meets
from seqc.linkages.merging import merged
from seqc.linkages.moves import improved
from seqc.linkages.question import FREE, Answer, Design, Question, Shape, numbered
from seqc.linkages.rows import filled, one_a_place
from seqc.solver.passes.colouring import EffortError

EFFORT = 6_000_000
"""Looks at a column of the exact search, about as many as a second or five has."""

HARDER = 30
"""On boards of more cells than this less is tried: hardly any would be decided."""

WORK = 6_000_000
"""Looks at a place of the searches that prove nothing."""

MOST_SPLITS = 4


def fewest_actuators(question: Question) -> Answer:
    """The design with the fewest actuators that was found, and the bound that it is held to."""
    small = merged(question)
    answer = _Search(small.question).answer()
    if answer.design is None:
        return answer
    return Answer(small.expanded(answer.design), answer.lower_bound)


class _Search:
    """One question on its way to an answer."""

    def __init__(self, question: Question) -> None:
        self.question = question
        self.bounds = Bounds(question)
        self.lower_bound = self.bounds.lower_bound
        self.best: Design | None = None

    def answer(self) -> Answer:
        """First what is simple, then the exact search from below, then exchanges from above."""
        for design in self._simple():
            self._offer(design)
        self._ascend()
        if self._is_open():
            self._exchange()
        if self._is_open() and self.best is not None:
            self._offer(improved(self.question, self.best, self.lower_bound, WORK // 2))
        return Answer(self.best, self.lower_bound)

    def _is_open(self) -> bool:
        return self.best is None or self.best.actuators > self.lower_bound

    def _offer(self, design: Design | None) -> None:
        if design is None or (self.best and design.actuators >= self.best.actuators):
            return
        if meets(self.question, design):
            self.best = design

    def _simple(self) -> Iterator[Design]:
        """Designs that need no search: columns dealt, rows and columns as drawn, single cells."""
        question = self.question
        if question.shape is Shape.ANY:
            yield from dealt(question)
            yield from by_signature(question)
        spots, wants = question.spots, question.wants
        plain = tuple(numbered([spot[way] for spot in spots]) for way in (0, 1))
        single, whole = tuple(range(wants.cells)), (0,) * wants.cells
        for rows in (*plain, single):
            for columns in (*plain, whole):
                yield as_built(question, [*[rows] * wants.parts, columns])

    def _ascend(self) -> None:
        """Decide total by total, from the bound on, until one is enough or the effort ends."""
        effort = self._effort(EFFORT)
        while self._is_open():
            for sizes in self.bounds.splits(self.lower_bound):
                try:
                    design, effort = self._decided(sizes, effort)
                except EffortError:
                    return
                if design is not None:
                    self.best = design
                    return
            if self.lower_bound > (1 + self.question.wants.parts) * self.question.wants.cells:
                return
            self.lower_bound += 1

    def _effort(self, most: int) -> int:
        harder = max(1, self.question.wants.cells / HARDER)
        return int(most / harder**2)

    def _decided(self, sizes: Sizes, effort: int) -> tuple[Design | None, int]:
        """A design with no more groups than these, None if there is none; raises EffortError."""
        if one_a_place(self.question):
            rows, columns = sizes
            return filled(self.question, rows, columns, effort)
        return fitting(self.question, sizes, effort)

    def _tried(self, sizes: Sizes) -> Design | None:
        """What the exact search comes upon early, or else what exchanges lead to."""
        rows, columns = sizes[0], sizes[-1]
        try:
            return self._decided(sizes, self._effort(EFFORT // 20))[0]
        except EffortError:
            return annealed(self.question, rows, columns, WORK // MOST_SPLITS)

    def _exchange(self) -> None:
        """Fewer and fewer actuators, while tables of so many are found."""
        question = self.question
        built = any(label != FREE for labels in question.fixed for label in labels)
        if built or question.shape is not Shape.ANY:
            return
        while self._is_open() and self.best is not None:
            before = self.best.actuators
            for sizes in self._tables(before - 1):
                self._offer(self._tried(sizes))
                if self.best.actuators < before:
                    break
            else:
                return

    def _tables(self, total: int) -> list[Sizes]:
        """Tables with room for all cells, the same rows for all selectors; narrow ones first."""
        cells, parts = self.question.wants.cells, self.question.wants.parts
        found = []
        for columns in range(self.question.passes + 1, total):
            rows, spare = divmod(total - columns, parts)
            if rows * columns >= cells and not spare:
                found.append((*[rows] * parts, columns))
        return found[:MOST_SPLITS]
