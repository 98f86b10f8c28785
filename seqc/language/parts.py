"""Selectors and gates, and how their linkages fit the grids that they serve."""

from __future__ import annotations

import string
from collections.abc import Sequence

from seqc.language.declared import Art
from seqc.language.items import is_rectangle
from seqc.language.limits import MAX_ACTUATORS
from seqc.language.odds import misfeed_of
from seqc.language.scope import Scope
from seqc.language.settings import Settings, read_settings
from seqc.language.source import Source, Statement
from seqc.machine.electrics import Coil
from seqc.machine.findings import Findings, Place, Related
from seqc.machine.parts import Gate, Grid, Lane, Linkage, LinkageKind, Part, Selector
from seqc.machine.wording import amount_of

LETTERS = frozenset(string.ascii_letters + string.digits)
NO_LETTER = "- ."

UNSOUND_COIL = Coil("", 0, 1_000, 1, 1, 1)
"""Stands for a coil that was reported already, so that all that follows can be checked too."""


Maps = dict[str, Art]
"""The letter map of each part that has one, as it is drawn."""


def declare_parts(source: Source, scope: Scope) -> Maps:
    """Enter every selector and gate, in the order in which they stand."""
    maps: Maps = {}
    for statement in source.of("selector", "gate"):
        settings = read_settings(statement, scope.findings)
        linkage = _linkage(settings, scope.findings)
        word = settings.word("coil")
        coil = (scope.coils.value(word) if word else None) or UNSOUND_COIL
        part: Part | None = None
        if settings.sound and linkage is not None:
            part = _part(statement, settings, linkage, coil, scope)
        scope.layout.add_magnets(statement, settings)
        art = settings.art("linkage")
        if scope.stations.declare(statement, part) and art is not None:
            maps[statement.name.text] = art
    return maps


def _part(
    statement: Statement,
    settings: Settings,
    linkage: Linkage,
    coil: Coil,
    scope: Scope,
) -> Part:
    name, settle = statement.name, settings.integer("settle") or 0
    around = scope.tolerance.of(settings, "settle")
    if statement.keyword == "selector":
        return Selector(name.text, linkage, coil, settle, name.place, around)
    misfeed = misfeed_of(settings, scope.findings)
    open_us, refill = settings.needed("open"), settings.integer("refill") or 0
    return Gate(name.text, linkage, coil, open_us, refill, settle, name.place, around, misfeed)


def _linkage(settings: Settings, findings: Findings) -> Linkage | None:
    setting = settings.get("linkage")
    if setting is None:
        return None
    kind = LinkageKind(setting.entry.phrase)
    if kind is not LinkageKind.MAP:
        return Linkage(kind, (), setting.place)
    art = settings.art("linkage")
    if art is None or not is_rectangle(art, "the letter map", findings):
        return None
    return Linkage(kind, art.rows, setting.place)


def check_linkages(
    parts: Sequence[Part], lanes: Sequence[Lane], maps: Maps, findings: Findings
) -> bool:
    """Whether every letter map fits every grid that its part serves; else it is reported."""
    fits = [
        _fits(part, maps[part.name], lane.grid, findings)
        for part in parts
        for lane in lanes
        if part.linkage.kind is LinkageKind.MAP and (part in lane.selectors or part in lane.gates)
    ]
    return all(fits)


def are_few(parts: Sequence[Part], lanes: Sequence[Lane], findings: Findings) -> bool:
    """Whether the parts have no more actuators than a machine may have; else it is reported."""
    room = MAX_ACTUATORS
    for part in parts:
        for lane in lanes:
            if part in lane.selectors or part in lane.gates:
                room -= _actuators(part.linkage, lane.grid)
        if room < 0:
            message = (
                f"more than {MAX_ACTUATORS} actuators in all, those of `{part.name}` among them"
            )
            hint = "move more cells with one actuator: `per row`, `per column` or `map`"
            findings.error("too-many-actuators", message, part.linkage.place, hint)
            return False
    return True


def _actuators(linkage: Linkage, grid: Grid) -> int:
    """The most actuators that a linkage has on a grid, some of whose cells may be absent."""
    match linkage.kind:
        case LinkageKind.ROW:
            return grid.rows
        case LinkageKind.COLUMN:
            return grid.columns
        case LinkageKind.CELL:
            return len(grid.cells)
        case LinkageKind.GRID:
            return 1
        case LinkageKind.MAP:
            return len(set("".join(linkage.letters)))


def _fits(part: Part, drawn: Art, grid: Grid, findings: Findings) -> bool:
    related = Related(grid.place, "the grid")
    hint = "draw a letter or digit for every cell; equal ones move together"
    height, width = len(drawn.rows), len(drawn.rows[0])
    if (height, width) != (grid.rows, grid.columns):
        message = (
            f"the map of `{part.name}` has {amount_of(height, 'row')} of {width},"
            f" but grid `{grid.name}` has {grid.rows} of {grid.columns}"
        )
        findings.error("map-size", message, drawn.place, hint, related)
        return False
    for cell in grid.cells:
        letter = drawn.rows[cell.row - 1][cell.column - 1]
        if letter in LETTERS:
            continue
        row = drawn.places[cell.row - 1]
        place = Place(row.file, row.line, row.column + cell.column - 1)
        where = f"at {cell} of grid `{grid.name}`"
        if letter in NO_LETTER:
            message = f"the map of `{part.name}` misses the cell {where}"
            findings.error("map-misses-cell", message, place, hint, related)
        else:
            message = f"the map of `{part.name}` has {letter!r} {where}, not a letter or digit"
            findings.error("bad-letter", message, place, hint, related)
        return False
    return True
