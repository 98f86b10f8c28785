"""Exact answers against CP-SAT: random small fonts, two or three kinds, every option."""

from __future__ import annotations

from random import Random

import pytest
from reference.linkages_cpsat import LinkageModel, Route

from seqc.linkages.loading import meets
from seqc.linkages.question import FREE, Answer, Labels, Question, Shape, Wants
from seqc.linkages.search import fewest_actuators

WAYS: dict[int, tuple[Route, ...]] = {
    2: ({0: False}, {0: True}),
    3: ({0: False}, {0: True, 1: False}, {0: True, 1: True}),
}
"""By how many kinds there are, the route of each."""

SHAPES = {Shape.ANY: "any", Shape.CONNECTED: "connected", Shape.LINE: "line", Shape.RUN: "run"}


def some_case(seed: int) -> tuple[Question, LinkageModel]:
    """A random font and options; the model has room for no actuators yet."""
    random = Random(seed)
    kinds = random.choice((2, 2, 3))
    rows, columns = random.randint(1, 4), random.randint(2, 4 if kinds == 2 else 3)
    spots = [(r, c) for r in range(rows) for c in range(columns) if random.random() > 0.1]
    spots = spots or [(0, 0)]
    glyphs = [[random.choice(WAYS[kinds]) for _ in spots] for _ in range(random.randint(1, 4))]
    if random.random() < 0.5:
        alike = [random.randrange(len(spots)) for _ in spots]
        glyphs = [[glyph[cell] for cell in alike] for glyph in glyphs]
    shape = random.choice(tuple(Shape))
    every = random.random() < 0.3
    paced = len(glyphs) - (len(glyphs) > 1 and random.random() < 0.3)
    built = some_built(random, spots, kinds) if random.random() < 0.3 else ()
    wants = Wants(sides(glyphs, kinds, False), sides(glyphs, kinds, True), (1 << paced) - 1)
    passes = random.randint(1, 3)
    question = Question(wants, tuple(spots), passes, shape, every, built)
    model = LinkageModel(glyphs, spots, kinds - 1, passes, 0, SHAPES[shape], every, built, paced)
    return question, model


def some_built(random: Random, spots: list[tuple[int, int]], kinds: int) -> tuple[Labels, ...]:
    """The first row of the first selector, or the first column of the gate, is built."""
    part, way = random.choice(((0, 0), (kinds - 1, 1)))
    line = min(spot[way] for spot in spots)
    own = tuple(0 if spot[way] == line else FREE for spot in spots)
    return tuple(own if n == part else (FREE,) * len(spots) for n in range(kinds))


def sides(glyphs: list[list[Route]], kinds: int, thrown: bool) -> tuple[tuple[int, ...], ...]:
    return tuple(
        tuple(
            sum((glyph[cell].get(part) is thrown) << n for n, glyph in enumerate(glyphs))
            for cell in range(len(glyphs[0]))
        )
        for part in range(kinds - 1)
    )


def agrees(seed: int) -> bool:
    """Hold one answer against the model; whether it was proven, or there is none."""
    question, model = some_case(seed)
    answer = fewest_actuators(question)
    check(answer, question, model)
    return answer.proven or answer.design is None


def check(answer: Answer, question: Question, model: LinkageModel) -> None:
    if answer.design is None:
        model.most = (1 + question.wants.parts) * (question.wants.cells + 1)
        assert not model.is_possible()
        return
    assert meets(question, answer.design)
    assert answer.lower_bound <= answer.design.actuators
    model.most = (answer.design.actuators if answer.proven else answer.lower_bound) - 1
    if model.most > question.wants.parts:
        assert not model.is_possible()


@pytest.mark.quick(5)
@pytest.mark.parametrize("seed", range(15))
def test_no_design_has_fewer_actuators(seed: int) -> None:
    assert agrees(seed)


@pytest.mark.campaign
@pytest.mark.counts
def test_no_design_of_300_fonts_has_fewer_actuators() -> None:
    proven = 0
    for number, seed in enumerate(range(1000, 1300), 1):
        proven += agrees(seed)
        if number % 25 == 0:
            print(f"{number} fonts agree, {proven} of them proven", flush=True)
    assert proven >= 290
