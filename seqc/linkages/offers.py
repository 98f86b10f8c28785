"""Designs as whole machines: each one's text, and the machine that is read from it."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from dataclasses import dataclass

from seqc import fonts, language
from seqc.linkages.draft import Draft
from seqc.linkages.listing import Found, Task, best_designs, found, joined
from seqc.linkages.prices import Price, price_of
from seqc.linkages.question import Question, Shape
from seqc.linkages.signatures import (
    built_labels,
    cell_gates,
    comes_one_way,
    design_of,
    linked_parts,
    plain_design,
    wants_of,
)
from seqc.linkages.spreading import cores
from seqc.linkages.writing import bits_used, linkages_of, require_parts, written
from seqc.machine.electrics import DriveKind
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
    most_passes: int
    reserve: tuple[Glyph, ...] = ()
    shape: Shape = Shape.ANY
    every_picture: bool = False
    built: tuple[str, ...] = ()


@dataclass(frozen=True)
class Offer:
    """A design, the text of its machine file, and what the machine takes.

    `others` are the actuators that every design has, `boards` how many grids share its linkages.
    """

    found: Found
    text: str
    price: Price
    boards: int
    others: int

    @property
    def lower_bound(self) -> int | None:
        """The fewest actuators of a machine with as many passes and as much in reach."""
        return (
            None
            if self.found.lower_bound is None
            else self.found.lower_bound * self.boards + self.others
        )


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
    return Task(question, comes_one_way(lane), wish.most_passes, wish.every_picture)


def offers(
    draft: Draft, machine: Machine, lane: Lane, wish: Wish, executor: Executor | None = None
) -> tuple[Offer, ...]:
    """The plain design, the one that is declared if it is another, and each that is best.

    Raises InputError when a part stands in another file, so that it can't be linked anew.
    """
    task = task_of(lane, wish)
    require_parts(draft, [part.name for part in linked_parts(lane)])
    with cores(executor, len(lane.grid.cells)) as spread:
        designs = joined(
            tuple(_known(lane, task, _has_matrix(machine, lane))), best_designs(task, spread)
        )
        names = tuple(glyph.name for glyph in wish.glyphs)
        work = [(draft, lane, names, wish.glyphs[0].font, design) for design in designs]
        return tuple(offer for offer in spread(_offer, work) if offer is not None)


def _known(lane: Lane, task: Task, on_matrix: bool) -> Iterator[Found]:
    """What there is to compare with: rows by columns, and the linkages as declared.

    Where gates hang on a matrix, which takes few outputs, a gate for each cell is among them.
    """
    plain, declared = plain_design(lane), design_of(lane)
    if (measured := found("plain", task, plain)) is not None:
        yield measured
    singles = cell_gates(lane)
    if on_matrix and singles != declared and (measured := found("cells", task, singles)):
        yield measured
    if declared != plain and (measured := found("declared", task, declared)) is not None:
        yield measured


def _has_matrix(machine: Machine, lane: Lane) -> bool:
    gates = (actuator for actuator in machine.actuators if actuator.part == lane.metering)
    return any(actuator.drive.kind is DriveKind.MATRIX for actuator in gates)


def _offer(work: tuple[Draft, Lane, tuple[str, ...], str, Found]) -> Offer | None:
    """The design as a machine; None where there are not letters or outputs enough."""
    draft, lane, names, font, design = work
    linkages = linkages_of(lane, design.design)
    if linkages is None:
        return None
    try:
        roomy = read_text(draft, written(draft, linkages, {}), Findings())
        text = written(draft, linkages, bits_used(roomy))
        machine = read_text(draft, text, Findings())
    except InputError:
        return None
    moved = sum(actuator.part.name in linkages for actuator in machine.actuators)
    drawn = next(each for each in machine.fonts if each.name == font).by_name
    return Offer(
        design,
        text,
        price_of(machine, [drawn[name] for name in names]),
        moved // design.design.actuators,
        len(machine.actuators) - moved,
    )


def _unknown_built(lane: Lane, name: str) -> Findings:
    findings = Findings()
    names = ", ".join(f"`{part.name}`" for part in linked_parts(lane))
    hint = f"name a part, {names}, or one of its groups, such as `{lane.metering.name}.c1`"
    findings.error("unknown-part", f"nothing is built that is named `{name}`", NOWHERE, hint)
    return findings
