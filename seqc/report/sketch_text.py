"""What can be told of a machine that isn't whole yet, and what can't."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from seqc.language.sketch import Lack, Stage
from seqc.machine.model import Machine
from seqc.machine.wording import amount_of
from seqc.report.check_text import lane_words
from seqc.solver.plan import ProgrammePlan
from seqc.solver.reach.causes import Reach

LABEL = 14
PAGE = 80


def sketch_lines(
    machine: Machine, lacks: Sequence[Lack], lost: Iterable[Reach], plan: ProgrammePlan | None
) -> Iterator[str]:
    """The verdict, what the machine is made of, and what can't be told yet.

    `plan` is that of what it is to show, None where that is out of reach.
    """
    beyond = sum(len(reach.beyond) for reach in lost)
    glyphs = sum(len(font.glyphs) for font in machine.fonts)
    yield f"{machine.name}: not whole yet; {glyphs - beyond} of {glyphs} glyphs can be shown"
    for lane in machine.lanes:
        size = f"{amount_of(lane.grid.columns, 'column')} by {amount_of(lane.grid.rows, 'row')}"
        yield from _fact(f"grid {lane.grid.name}", f"{size}: {lane_words(lane)}")
    yield from _fact("actuators", actuators_words(machine))
    if Stage.ELECTRICS in {lack.stage for lack in lacks}:
        yield from _fact("outputs", outputs_words(machine))
    if plan is not None:
        yield from _fact("passes", passes_words(plan, lacks))
    yield "Can't be told yet"
    for stage in Stage:
        yield from _lacking(stage, [lack for lack in lacks if lack.stage is stage])


def _lacking(stage: Stage, lacks: Sequence[Lack]) -> Iterator[str]:
    """What can't be told, and what it takes to tell it."""
    names: dict[str, list[str]] = {}
    for lack in lacks:
        names.setdefault(lack.what, []).append(lack.name)
    if names:
        yield f"  {stage.value}, without"
    for what, lacking in names.items():
        yield from textwrap.wrap(
            f"{what} {', '.join(lacking)}", PAGE, initial_indent="    ", subsequent_indent="      "
        )


def actuators_words(machine: Machine) -> str:
    """How many actuators there are, and how many of each part."""
    counts: dict[str, int] = {}
    for actuator in machine.actuators:
        counts[actuator.part.name] = counts.get(actuator.part.name, 0) + 1
    each = ", ".join(f"{name} {count}" for name, count in counts.items())
    return f"{len(machine.actuators)}: {each}"


def outputs_words(machine: Machine) -> str:
    """What each kind of drive would take for all actuators."""
    count = len(machine.actuators)
    return (
        f"{2 * count} with a pair of relays each ({2 * count} relays) or with bridges; "
        f"{count + 1} with a shared reverser ({count + 1} relays)"
    )


def passes_words(plan: ProgrammePlan, lacks: Sequence[Lack]) -> str:
    """The most passes of a frame; the pulses too, where coils and drives are told."""
    most = max((len(grid.passes) for one in plan.plans for grid in one.grids), default=0)
    words = f"{most} at most"
    if Stage.ELECTRICS in {lack.stage for lack in lacks}:
        return words
    return f"{words}; {amount_of(plan.pulses, 'pulse')} in all frames together"


def _fact(label: str, text: str) -> list[str]:
    first = f"  {label:<{LABEL}}"
    first = first if first.endswith(" ") else f"{first}  "
    return textwrap.wrap(
        text,
        PAGE,
        initial_indent=first,
        subsequent_indent=" " * (LABEL + 2),
        break_on_hyphens=False,
    )


def lacks_document(lacks: Iterable[Lack]) -> list[dict[str, Any]]:
    """What is lacking, for JSON."""
    return [
        {
            "untold": lack.stage.value,
            "lacking": f"{lack.what} {lack.name}",
            "file": lack.place.file,
            "line": lack.place.line,
            "column": lack.place.column,
        }
        for lack in lacks
    ]
