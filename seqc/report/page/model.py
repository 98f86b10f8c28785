"""The machine as the page's script knows it, and the scenes that can be played."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from seqc.machine.model import Machine
from seqc.machine.parts import Branch, Feed, Item, Lane
from seqc.machine.wiring import Actuator
from seqc.report.drawings.bands import arrival_band, settled_band, start_band
from seqc.report.drawings.tones import looks_of
from seqc.report.drawings.tracks import relay_draws, shared_outputs
from seqc.report.page.packing import Packer, packed
from seqc.report.survey import FontShown, ProgrammeShown, Survey

GLYPHS_A_BLOCK = 32
MOST_PLANS = 400
"""Of programmes with more frames than this the passes are left to the glyphs."""

Document = Any


class Scene(NamedTuple):
    """What can be played: runs `first` to `last` of a block; `loop` is where it goes on.

    `causes` are the links of what limits the period, in microseconds from the start of the scene.
    """

    name: str
    title: str
    group: str
    block: int
    first: int
    last: int
    enter: int
    loop: int | None = None
    causes: tuple[tuple[int, int, str, str], ...] = ()


class Played(NamedTuple):
    """The scenes of a page, and the blocks that they are in."""

    scenes: tuple[Scene, ...]
    blocks: tuple[str, ...]


def played(survey: Survey) -> Played:
    """Every programme as one scene, and every glyph in reach as one."""
    packer = Packer(survey.machine)
    scenes: list[Scene] = []
    blocks: list[str] = []
    for number, shown in enumerate(survey.programmes):
        scenes.append(_programme_scene(survey.machine, number, shown, len(blocks)))
        block = packer.block(shown.trace, shown.trace.runs)
        blocks.append(packed({**block, **_loads(packer, shown)}))
    for number, font in enumerate(survey.fonts):
        for block in _font_blocks(packer, font):
            scenes += _glyph_scenes(number, font, len(blocks), block.runs)
            blocks.append(block.text)
    return Played(tuple(scenes), tuple(blocks))


def _programme_scene(machine: Machine, number: int, shown: ProgrammeShown, block: int) -> Scene:
    before = len(list(shown.tables)) - len(shown.tables.tables)
    last = len(shown.tables.tables) - 1
    first_tick = before + min(1, last)
    return Scene(
        f"p{number}",
        shown.programme.name,
        "programmes",
        block,
        0,
        len(shown.trace.runs) - 1,
        before + min(2, last),
        shown.trace.recurs_at,
        tuple(_causes(machine, shown, first_tick)),
    )


def _loads(packer: Packer, shown: ProgrammeShown) -> Document:
    """The plans of a programme's frames, and the one that each run loads; none of a long one."""
    plans = list(shown.timing.plan.plans)
    if len(plans) > MOST_PLANS:
        return {}
    if shown.timing.plan.again is not None:
        plans.append(shown.timing.plan.again)
    before = len(list(shown.tables)) - len(shown.tables.tables)
    repeat_from = shown.timing.repeat_from
    loads: list[int | None] = [None] * before
    count = len(shown.tables.tables)
    for run in range(len(shown.trace.runs) - before):
        number = run if run < count else (shown.tables.repeat_from or 0) + run - count
        past = repeat_from is not None and number >= len(plans)
        loads.append(1 + (number - 1) % (len(plans) - 1) if past and plans[1:] else number)
    known = [None if n is None or n >= len(plans) else n for n in loads]
    return {"plans": [packer.plan(plan) for plan in plans], "loads": known}


def _causes(
    machine: Machine, shown: ProgrammeShown, first_tick: int
) -> Iterator[tuple[int, int, str, str]]:
    """The links of the slowest tick in the time of the scene; its pulses come a lead later."""
    from seqc.schedule.durations import Durations

    timing = shown.timing
    if not timing.ticks:
        return
    run = first_tick + timing.slowest
    start = sum(r.table.length_us for r in shown.trace.runs[:run]) + Durations(machine).lead_us
    for link in timing.critical_chain:
        if link.length_us > 0:
            yield start + link.from_us, start + link.to_us, link.cause, link.task


class _Block(NamedTuple):
    runs: dict[int, int]
    text: str


def _font_blocks(packer: Packer, font: FontShown) -> Iterator[_Block]:
    """The glyphs of a font by some, so that those that aren't looked at stay packed."""
    numbers = [shown.run for shown in font.glyphs if shown.run is not None]
    for first in range(0, len(numbers), GLYPHS_A_BLOCK):
        chosen = numbers[first : first + GLYPHS_A_BLOCK]
        block = packer.block(font.trace, [font.trace.runs[n] for n in chosen])
        plans = {shown.run: shown.plan for shown in font.glyphs if shown.plan is not None}
        block["plans"] = [packer.plan(plans[number]) for number in chosen]
        block["loads"] = list(range(len(chosen)))
        yield _Block({number: rank for rank, number in enumerate(chosen)}, packed(block))


def _glyph_scenes(
    number: int, font: FontShown, block: int, runs: dict[int, int]
) -> Iterator[Scene]:
    for rank, shown in enumerate(font.glyphs):
        if shown.run in runs:
            at = runs[shown.run]
            name = f"g{number}.{rank}"
            yield Scene(name, shown.glyph.name, font.font.name, block, at, at, at)


def model_document(survey: Survey, scenes: tuple[Scene, ...]) -> Document:
    """The machine for the script."""
    machine = survey.machine
    looks = looks_of(machine)
    letters = Packer(machine).letters
    return {
        "machine": machine.name,
        "kinds": [
            {
                "name": item.name,
                "letter": letters[item.name],
                "tone": looks[item.name].tone,
                "mark": looks[item.name].mark,
                "markWidth": looks[item.name].mark_width,
            }
            for item in machine.items
        ],
        "grids": [_grid(machine, lane) for lane in machine.lanes],
        "actuators": [_actuator(machine, actuator) for actuator in machine.actuators],
        "shared": [[output, name] for output, name in shared_outputs(machine).items()],
        "supplies": [
            {
                "name": supply.name,
                "usable": supply.usable_ua + supply.always_ua,
                "always": supply.always_ua,
                "relays": sorted(relay_draws(machine, supply.name).items()),
            }
            for supply in machine.supplies
        ],
        "scenes": [scene._asdict() for scene in scenes],
    }


def _grid(machine: Machine, lane: Lane) -> Document:
    places = range(1, max(lane.gates_above, len(lane.gates) - 1) + 1)
    number = {cell: n for n, (_, cells) in enumerate(lane.different_feeds) for cell in cells}
    return {
        "name": lane.grid.name,
        "rows": lane.grid.rows,
        "columns": lane.grid.columns,
        "cells": [[cell.row, cell.column] for cell in lane.grid.cells],
        "feeds": [_feed(machine, lane, feed) for feed, _ in lane.different_feeds],
        "fed": [number[cell] for cell in lane.grid.cells],
        "gates": [gate.name for gate in lane.gates],
        "shown": lane.gates_above,
        "places": [place_name(lane, place) for place in places],
        "falls": [path.fall_us for path in lane.paths],
        "settles": [path.settle_us for path in lane.paths],
        "ways": [way_name(lane, place) for place in places],
        "bands": [list(arrival_band(machine, lane, place)) for place in places],
    }


def place_name(lane: Lane, place: int) -> str:
    """A place of a lane, in words."""
    return "seen" if place == lane.gates_above else f"above {lane.gates[place].name}"


def way_name(lane: Lane, place: int) -> str:
    """The way to a place, in words."""
    path = lane.paths[place - 1] if place <= len(lane.paths) else None
    return f"{path.source} to {path.target}" if path else "out"


def _feed(machine: Machine, lane: Lane, feed: Feed) -> Document:
    """A feed as nested lists: `[selector's actuators cell by cell, at rest, thrown]`, or a kind.

    -1 stands for the actuator of a cell that doesn't have the selector.
    """
    made: dict[int, Document] = {}
    waiting: list[tuple[Feed, bool]] = [(feed, False)]
    while waiting:
        node, ready = waiting.pop()
        if isinstance(node, Item):
            made[id(node)] = machine.items.index(node)
        elif ready:
            own = [-1] * len(lane.grid.cells)
            for actuator in machine.actuators_of(node.selector, lane.grid):
                for cell in actuator.cells:
                    own[lane.grid.index_of[cell]] = actuator.index
            made[id(node)] = [own, made[id(node.rest)], made[id(node.thrown)]]
        else:
            assert isinstance(node, Branch)
            waiting += [(node, True), (node.rest, False), (node.thrown, False)]
    return made[id(feed)]


def _actuator(machine: Machine, actuator: Actuator) -> Document:
    lane = machine.lane_of(actuator.grid.name)
    gates = [gate.name for gate in lane.gates]
    level = gates.index(actuator.part.name) if actuator.is_gate else None
    return {
        "name": actuator.name,
        "part": actuator.part.name,
        "grid": machine.grids.index(actuator.grid),
        "cells": [actuator.grid.index_of[cell] for cell in actuator.cells],
        "level": level,
        "outputs": list(actuator.outputs),
        "settles": actuator.settled_us,
        "start": list(start_band(actuator)),
        "settled": list(settled_band(actuator)),
        "draws": actuator.peak_ua,
        "supply": machine.supplies.index(actuator.drive.supply),
    }
