"""What a design can do: which glyphs it loads, and in how many passes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from seqc.linkages.question import FREE, Design, Question, Wants
from seqc.linkages.shapes import allows
from seqc.solver.passes.colouring import ClassSearch
from seqc.solver.positions import bits

EFFORT = 100_000

Conflicts = list[list[int]]
"""For each pair of gate groups the glyphs in which they can't share a pass."""


def clashing(wants: Wants, design: Design) -> int:
    """The glyphs out of reach: two cells of one gate and one selector group oppose each other."""
    found = 0
    for part, labels in enumerate(design.selectors):
        places: dict[tuple[int, int], list[int]] = {}
        for cell, place in enumerate(zip(labels, design.gate, strict=True)):
            held = places.setdefault(place, [0, 0])
            held[0] |= wants.rest[part][cell]
            held[1] |= wants.thrown[part][cell]
        for rest, thrown in places.values():
            found |= rest & thrown
    return found


def crowded(design: Design) -> bool:
    """Whether two cells share a gate and a selector group, so that some picture is out of reach."""
    cells = len(design.gate)
    pairs = (set(zip(labels, design.gate, strict=True)) for labels in design.selectors)
    return any(len(places) < cells for places in pairs)


def conflicts(wants: Wants, design: Design) -> Conflicts:
    """The glyphs in which each pair of gate groups opposes."""
    count = 1 + max(design.gate)
    found = [[0] * count for _ in range(count)]
    for part, labels in enumerate(design.selectors):
        rows: dict[int, list[list[int]]] = {}
        for cell, (row, gate) in enumerate(zip(labels, design.gate, strict=True)):
            held = rows.setdefault(row, [[0] * count, [0] * count])
            held[0][gate] |= wants.rest[part][cell]
            held[1][gate] |= wants.thrown[part][cell]
        for rest, thrown in rows.values():
            for one in range(count):
                for other in range(one):
                    opposed = rest[one] & thrown[other] | thrown[one] & rest[other]
                    found[one][other] |= opposed
                    found[other][one] |= opposed
    return found


def passes_of(wants: Wants, design: Design, glyphs: int) -> Iterator[int]:
    """The fewest passes of each of some glyphs, as far as the effort tells; in order."""
    between = conflicts(wants, design)
    return (len(ClassSearch(graph).fewest(EFFORT).classes) for graph in _graphs(between, glyphs))


def within(between: Conflicts, glyphs: int, passes: int) -> bool:
    """Whether each of some glyphs is loaded in so many passes."""
    left = _unplaced(between, glyphs, passes)
    return all(
        len(ClassSearch(graph).fewest(EFFORT).classes) <= passes
        for graph in dict.fromkeys(_graphs(between, left))
    )


def crowded_with(between: Conflicts, column: int, glyphs: int, passes: int) -> tuple[bool, int]:
    """Whether in a glyph more gate groups than passes, one given, all oppose each other.

    Also how many groups were looked at.
    """
    others = [other for other, opposed in enumerate(between[column]) if opposed]
    waiting: list[tuple[int, int, int, tuple[int, ...]]] = [(glyphs, 1, 0, (column,))]
    looks = 0
    while waiting:
        among, size, first, chosen = waiting.pop()
        if size > passes:
            return True, looks
        last = len(others) - (passes - size)
        looks += 1 + max(0, last - first)
        for rank in range(first, last):
            left = among
            for each in chosen:
                left &= between[each][others[rank]]
            if left:
                waiting.append((left, size + 1, rank + 1, (*chosen, others[rank])))
    return False, looks


def _unplaced(between: Conflicts, glyphs: int, passes: int) -> int:
    """The glyphs that aren't loaded when each gate group takes the first pass that is open to it.

    All glyphs at once: `members` has for each pass the glyphs in which each group is in it.
    """
    members: list[list[int]] = [[] for _ in range(passes)]
    late = 0
    for row in between:
        left = glyphs
        for taken in members:
            blocked = 0
            for own, opposed in zip(taken, row, strict=False):
                blocked |= own & opposed
            taken.append(left & ~blocked)
            left &= blocked
        late |= left
    return late


def _graphs(between: Conflicts, glyphs: int) -> Iterator[tuple[int, ...]]:
    for number in bits(glyphs):
        yield tuple(
            sum((glyphs_of >> number & 1) << other for other, glyphs_of in enumerate(row))
            for row in between
        )


def meets(question: Question, design: Design) -> bool:
    """Whether a design does all that is asked."""
    wants = question.wants
    if clashing(wants, design) or (question.every_picture and crowded(design)):
        return False
    if not _keeps_built(question, design) or not _is_shaped(question, design):
        return False
    return within(conflicts(wants, design), wants.paced, question.passes)


def groups(labels: Sequence[int]) -> dict[int, list[int]]:
    """The cells of each group."""
    found: dict[int, list[int]] = {}
    for cell, label in enumerate(labels):
        found.setdefault(label, []).append(cell)
    return found


def _is_shaped(question: Question, design: Design) -> bool:
    return all(
        allows(question.shape, [question.spots[cell] for cell in cells])
        for fixed, labels in zip(question.fixed, design.labels, strict=True)
        for cells in groups(labels).values()
        if fixed[cells[0]] == FREE
    )


def _keeps_built(question: Question, design: Design) -> bool:
    return all(
        {frozenset(cells) for label, cells in groups(fixed).items() if label != FREE}
        <= {frozenset(cells) for cells in groups(labels).values()}
        for fixed, labels in zip(question.fixed, design.labels, strict=True)
    )
