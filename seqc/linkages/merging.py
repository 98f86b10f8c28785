"""Cells that may as well share all their actuators, taken together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from seqc.linkages.question import Design, Question, Shape, Wants, numbered


@dataclass(frozen=True)
class Merged:
    """A question about fewer cells, and for each cell of the whole one the cell it goes with."""

    question: Question
    member_of: tuple[int, ...]

    def expanded(self, design: Design) -> Design:
        """The design for all cells."""
        return Design(
            tuple(numbered([labels[cell] for cell in self.member_of]) for labels in design.labels)
        )


def merged(question: Question) -> Merged:
    """The question with cells of equal signatures, or with less to ask, as one.

    A cell that wants nothing else than another, glyph by glyph, can go wherever that one goes; so
    nothing is lost, unless shapes or all pictures matter.
    """
    cells = question.wants.cells
    if question.shape is not Shape.ANY or question.every_picture:
        return Merged(question, tuple(range(cells)))
    leaders: list[int] = []
    leader_of = [0] * cells
    for cell in sorted(range(cells), key=lambda cell: (-_known(question.wants, cell), cell)):
        found = next((each for each in leaders if _covers(question, each, cell)), None)
        if found is None:
            leaders.append(found := cell)
        leader_of[cell] = found
    leaders.sort()
    number = {leader: rank for rank, leader in enumerate(leaders)}
    return Merged(_only(question, leaders), tuple(number[leader] for leader in leader_of))


def _known(wants: Wants, cell: int) -> int:
    sides = (wants.rest, wants.thrown)
    return sum(masks[cell].bit_count() for side in sides for masks in side)


def _covers(question: Question, leader: int, cell: int) -> bool:
    """Whether a cell wants nothing that its leader doesn't, and is built as it is."""
    wants = question.wants
    within = all(
        masks[cell] & ~masks[leader] == 0 for side in (wants.rest, wants.thrown) for masks in side
    )
    return within and all(labels[cell] == labels[leader] for labels in question.fixed)


def _only(question: Question, cells: Sequence[int]) -> Question:
    def of(rows: Sequence[Sequence[int]]) -> tuple[tuple[int, ...], ...]:
        return tuple(tuple(row[cell] for cell in cells) for row in rows)

    wants = question.wants
    return replace(
        question,
        wants=Wants(of(wants.rest), of(wants.thrown), wants.paced),
        spots=tuple(question.spots[cell] for cell in cells),
        built=of(question.fixed),
    )
