"""From one design to a better one by small changes, whatever is asked of it.

Groups are joined, parted, or give up a cell to another; what doesn't meet the question is not
kept. Larger groups count as better, since they are on the way to fewer.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from random import Random

from seqc.linkages.loading import groups, meets
from seqc.linkages.question import FREE, Design, Labels, Question, Shape, numbered
from seqc.linkages.shapes import neighbours

HOT, COLD = 2.0, 0.1
SEED = 29


def improved(question: Question, start: Design, lower_bound: int, work: int) -> Design:
    """The best design found from one that meets the question; `work` counts looks at a cell."""
    random = Random(SEED)
    best = now = start
    left = work
    while left > 0 and best.actuators > lower_bound:
        design = _changed(question, now, random)
        left -= question.wants.cells
        if design is None:
            continue
        left -= _looks(question, design)
        if not meets(question, design):
            continue
        heat = HOT * (COLD / HOT) ** (1 - max(0, left) / work)
        worse = _cost(design) - _cost(now)
        if worse <= 0 or random.random() < math.exp(-worse / heat):
            now = design
        if now.actuators < best.actuators:
            best = now
    return best


def _looks(question: Question, design: Design) -> int:
    """How many places are looked at to see whether a design meets the question."""
    *rows, columns = design.sizes
    return 2 * question.wants.cells * len(rows) + sum(rows) * columns * columns // 2


def _cost(design: Design) -> float:
    """The actuators; less for groups of uneven size, the smaller of which may go next."""
    squares = 0.0
    for labels in design.labels:
        sizes = [len(cells) for cells in groups(labels).values()]
        squares += sum(size * size for size in sizes) / len(labels) / len(labels)
    return design.actuators - squares


def _changed(question: Question, design: Design, random: Random) -> Design | None:
    """A design next to one; None where the change is none."""
    part = random.randrange(len(design.labels))
    labels, fixed = design.labels[part], question.fixed[part]
    free = [cell for cell, label in enumerate(fixed) if label == FREE]
    if not free:
        return None
    cell = random.choice(free)
    towards = sorted({labels[other] for other in _near(question, cell, free)} - {labels[cell]})
    what = random.random()
    if what < 0.15:
        changed = _parted(question, labels, cell, random)
    elif not towards:
        return None
    elif what < 0.5:
        new = random.choice(towards)
        changed = [new if label == labels[cell] else label for label in labels]
    else:
        changed = list(labels)
        changed[cell] = random.choice(towards)
    return _with(design, part, numbered(changed))


def _with(design: Design, part: int, labels: Labels) -> Design:
    return Design((*design.labels[:part], labels, *design.labels[part + 1 :]))


def _near(question: Question, cell: int, free: Sequence[int]) -> Iterator[int]:
    """The cells whose groups a cell may join, as far as the shape tells."""
    row, column = question.spots[cell]
    beside = neighbours((row, column))
    for other in free:
        spot = question.spots[other]
        match question.shape:
            case Shape.ANY:
                yield other
            case Shape.LINE if row == spot[0] or column == spot[1]:
                yield other
            case Shape.CONNECTED | Shape.RUN if spot in beside:
                yield other


def _parted(question: Question, labels: Labels, cell: int, random: Random) -> list[int]:
    """The group of a cell cut in two, along the rows or along the columns."""
    way, new = random.randrange(2), max(labels) + 1
    limit = question.spots[cell][way]
    return [
        new if label == labels[cell] and question.spots[other][way] >= limit else label
        for other, label in enumerate(labels)
    ]
