"""Selectors and gates, and how their linkages fit the grids that they serve."""

from __future__ import annotations

import string
from collections.abc import Sequence
from dataclasses import dataclass, field

from seqc.language.declared import Art
from seqc.language.items import is_rectangle
from seqc.language.limits import MAX_ACTUATORS
from seqc.language.marks import lies_on, marked
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


@dataclass
class Maps:
    """What is drawn of parts, by their names: letter maps, and cells in which they are mirrored."""

    letters: dict[str, Art] = field(default_factory=dict)
    mirrored: dict[str, Art] = field(default_factory=dict)


def declare_parts(source: Source, scope: Scope) -> Maps:
    """Enter every selector and gate, in the order in which they stand."""
    maps = Maps()
    for statement in source.of("selector", "gate"):
        settings = read_settings(statement, scope.findings)
        linkage = _linkage(settings, scope.findings)
        word = settings.word("coil")
        coil = (scope.coils.value(word) if word else None) or UNSOUND_COIL
        part: Part | None = None
        if settings.sound and linkage is not None:
            part = _part(statement, settings, linkage, coil, scope)
        scope.layout.add_magnets(statement, settings)
        if scope.stations.declare(statement, part):
            drawn = (("linkage", maps.letters), ("mirrored", maps.mirrored))
            for key, arts in drawn:
                if (art := settings.art(key)) is not None:
                    arts[statement.name.text] = art
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
        art = settings.art("mirrored")
        cells = marked(art, _mirrored(name.text), scope.findings) if art else None
        mirrored = cells or frozenset()
        return Selector(name.text, linkage, coil, settle, name.place, around, mirrored)
    misfeed = misfeed_of(settings, scope.findings)
    open_us, refill = settings.needed("open"), settings.integer("refill") or 0
    return Gate(name.text, linkage, coil, open_us, refill, settle, name.place, around, misfeed)


def _mirrored(selector: str) -> str:
    """How messages speak of the cells in which a selector is mounted the other way round."""
    return f"`mirrored` of `{selector}`"


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
    """Whether what is drawn of every part fits every grid that it serves; else it is reported."""
    fits = [
        _fits(part, maps.letters[part.name], lane, findings)
        for part in parts
        for lane in lanes
        if part.linkage.kind is LinkageKind.MAP and (part in lane.selectors or part in lane.gates)
    ]
    fits += [
        lies_on(
            maps.mirrored[part.name],
            _mirrored(part.name),
            lane.grid,
            lane.cells_of(part),
            findings,
        )
        for part in parts
        for lane in lanes
        if isinstance(part, Selector) and part.mirrored and part in lane.selectors
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


def _fits(part: Part, drawn: Art, lane: Lane, findings: Findings) -> bool:
    grid = lane.grid
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
    for cell in lane.cells_of(part):
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
