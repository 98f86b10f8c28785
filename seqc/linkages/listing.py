"""The designs worth showing: the plain one, and each that is best by some measure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from seqc.linkages.bounds import Bounds
from seqc.linkages.loading import clashing, crowded, groups, passes_of
from seqc.linkages.merging import merged
from seqc.linkages.question import Answer, Design, Question
from seqc.linkages.search import fewest_actuators
from seqc.linkages.shapes import in_line, length
from seqc.linkages.spreading import Spread


@dataclass(frozen=True)
class Found:
    """A design and what it can do.

    `lower_bound` is the fewest actuators for its passes and reach, as far as is known; None where
    that wasn't asked. `pitches` is the length of all linkages in cell pitches, `straight` how many
    of the `ties` lie in one row or column.
    """

    name: str
    design: Design
    passes: int
    every_picture: bool
    lower_bound: int | None
    pitches: int
    ties: int
    straight: int

    @property
    def proven(self) -> bool:
        """Whether no design with as many passes and as much in reach has fewer actuators."""
        return self.lower_bound == self.design.actuators


@dataclass(frozen=True)
class Task:
    """What designs are sought for: a question without its passes and pictures.

    `single` tells that each kind comes by one way only, so that bounds hold. Designs for more than
    `most_passes` aren't looked for.
    """

    question: Question
    single: bool
    most_passes: int
    only_every_picture: bool = False


def found(name: str, task: Task, design: Design, lower_bound: int | None = None) -> Found | None:
    """A design measured; None if it can't load all glyphs."""
    wants, spots = task.question.wants, task.question.spots
    if clashing(wants, design):
        return None
    ties = [
        [spots[cell] for cell in cells]
        for labels in design.labels
        for cells in groups(labels).values()
    ]
    return Found(
        name,
        design,
        max(passes_of(wants, design, wants.paced), default=0),
        not crowded(design),
        lower_bound,
        sum(map(length, ties)),
        len(ties),
        sum(map(in_line, ties)),
    )


def best_designs(task: Task, spread: Spread) -> tuple[Found, ...]:
    """The designs with the fewest actuators for each number of passes, without those outdone."""
    asked = list(_questions(task))
    answers = list(spread(fewest_actuators, asked))
    designs = [
        measured
        for question, answer in zip(asked, answers, strict=True)
        if (measured := _measured(task, question, answer)) is not None
    ]
    return tuple(sorted(_not_outdone(designs), key=_order))


def _questions(task: Task) -> Iterator[Question]:
    """From one pass to as many as are of use, for the font alone and for every picture."""
    for every in (True,) if task.only_every_picture else (False, True):
        question = replace(task.question, every_picture=every)
        for passes in range(1, min(task.most_passes, _useful_passes(question)) + 1):
            yield replace(question, passes=passes)


def _useful_passes(question: Question) -> int:
    """The fewest passes that let the actuators be as few as they can be by counting."""
    small = merged(replace(question, passes=question.wants.cells)).question
    bounds = Bounds(small)
    return min(sizes[-1] for sizes in bounds.splits(bounds.lower_bound))


def joined(known: Sequence[Found], best: Sequence[Found]) -> tuple[Found, ...]:
    """Designs that there are to compare with, then those that do more than one of them.

    What is proven of a design that does no more holds of the one it is compared with.
    """
    lower_bound = {_measures(design): design.lower_bound for design in best}
    compared = tuple(replace(each, lower_bound=lower_bound.get(_measures(each))) for each in known)
    have = {_measures(design) for design in known}
    return (*compared, *(design for design in best if _measures(design) not in have))


def _measured(task: Task, question: Question, answer: Answer) -> Found | None:
    if answer.design is None:
        return None
    reach = "every picture" if question.every_picture else "font"
    lower_bound = answer.lower_bound if task.single else None
    return found(f"{question.passes} passes, {reach}", task, answer.design, lower_bound)


def _not_outdone(designs: Sequence[Found]) -> Iterator[Found]:
    """Those that none is as good as in every measure; of equals the one with the best proof."""
    for number, design in enumerate(designs):
        others = [*designs[:number], *designs[number + 1 :]]
        if not any(_outdoes(other, design, designs.index(other) < number) for other in others):
            yield design


def _outdoes(one: Found, other: Found, earlier: bool) -> bool:
    mine, theirs = _measures(one), _measures(other)
    return all(a <= b for a, b in zip(mine, theirs, strict=True)) and (mine != theirs or earlier)


def _measures(design: Found) -> tuple[int, int, bool]:
    return design.design.actuators, design.passes, not design.every_picture


def _order(design: Found) -> tuple[int, int, bool]:
    return design.passes, design.design.actuators, design.every_picture
