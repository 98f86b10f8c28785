"""Designs as whole machines: each one's text, and the machine that is read from it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass

from seqc import fonts, language
from seqc.linkages.draft import Draft
from seqc.linkages.listing import Found, Task, best_designs, found
from seqc.linkages.question import Question, Shape
from seqc.linkages.signatures import (
    built_labels,
    design_of,
    linked_parts,
    plain_design,
    ways_of,
    wants_of,
)
from seqc.linkages.writing import bits_used, linkages_of, written
from seqc.machine.findings import NOWHERE, Findings, InputError
from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Lane


@dataclass(frozen=True)
class Wish:
    """What is wanted of designs, as a maker says it.

    `glyphs` are to be shown, `reserve` need only be within reach. `built` names parts and groups
    whose linkages are there already. Nothing is looked for beyond `most_passes`.
    """

    glyphs: tuple[Glyph, ...]
    reserve: tuple[Glyph, ...] = ()
    shape: Shape = Shape.ANY
    every_picture: bool = False
    built: tuple[str, ...] = ()
    most_passes: int = 24


@dataclass(frozen=True)
class Offer:
    """A design, the text of its machine file and the machine."""

    found: Found
    text: str
    machine: Machine


def read_text(draft: Draft, text: str, findings: Findings) -> Machine:
    """The machine of a text that stands in a draft's place; raises InputError."""
    declared = language.read_text(text, str(draft.path), findings)
    machine = fonts.dress(declared, findings) if declared else None
    if machine is None or findings.has_errors:
        raise InputError(findings)
    return machine


def task_of(lane: Lane, wish: Wish) -> Task:
    """The search for the designs of a lane; raises InputError when nothing named so is built."""
    try:
        built = built_labels(lane, wish.built)
    except KeyError as error:
        raise InputError(_unknown_built(lane, error.args[0])) from error
    wants = wants_of(lane, wish.glyphs, wish.reserve)
    spots = tuple((cell.row, cell.column) for cell in lane.grid.cells)
    question = Question(wants, spots, 1, wish.shape, wish.every_picture, built)
    return Task(question, ways_of(lane).single, wish.every_picture, wish.most_passes)


def offers(
    draft: Draft, machine: Machine, lane: Lane, wish: Wish, executor: Executor | None = None
) -> Iterator[Offer]:
    """The plain design, the one that is declared if it is another, and each that is best."""
    task = task_of(lane, wish)
    for design in (*_known(lane, task), *best_designs(task, executor)):
        offer = _offer(draft, lane, design)
        if offer is not None:
            yield offer


def _known(lane: Lane, task: Task) -> Iterator[Found]:
    """What there is to compare with: rows by columns, and the linkages as declared."""
    plain, declared = plain_design(lane), design_of(lane)
    if (measured := found("plain", task, plain)) is not None:
        yield measured
    if declared != plain and (measured := found("declared", task, declared)) is not None:
        yield measured


def _offer(draft: Draft, lane: Lane, design: Found) -> Offer | None:
    """The design as a machine; None where there are not letters or outputs enough."""
    linkages = linkages_of(lane, design.design)
    if linkages is None:
        return None
    try:
        roomy = read_text(draft, written(draft, linkages, {}), Findings())
    except InputError:
        return None
    text = written(draft, linkages, bits_used(roomy))
    return Offer(design, text, read_text(draft, text, Findings()))


def _unknown_built(lane: Lane, name: str) -> Findings:
    findings = Findings()
    names = ", ".join(f"`{part.name}`" for part in linked_parts(lane))
    hint = f"name a part, {names}, or one of its groups, such as `{lane.metering.name}.c1`"
    findings.error("unknown-part", f"nothing is built that is named `{name}`", NOWHERE, hint)
    return findings
