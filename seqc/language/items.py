"""Items, grids and the linkages that are laid over grids."""

from __future__ import annotations

from seqc.language.declared import Art
from seqc.language.limits import MAX_ALL_CELLS, MAX_CELLS
from seqc.language.odds import misfeed_of
from seqc.language.scope import Scope
from seqc.language.settings import Settings, read_settings
from seqc.language.source import Source, Statement
from seqc.machine.findings import Findings, Place, Related
from seqc.machine.parts import Cell, Grid, Item

ABSENT = "-"


def declare_items(source: Source, scope: Scope) -> None:
    """Enter every item."""
    for statement in source.of("item"):
        settings = read_settings(statement, scope.findings)
        tone = settings.word("tone")
        item = Item(
            statement.name.text,
            tone.text if tone else "",
            settings.integer("stock"),
            settings.integer("diameter"),
            statement.name.place,
            settings.integer("recirculate"),
            settings.integer("mass"),
            settings.integer("bounce"),
            misfeed_of(settings, scope.findings),
            settings.get("steel") is not None,
        )
        scope.stations.declare(statement, item if settings.sound else None)


def declare_grids(source: Source, scope: Scope) -> None:
    """Enter every grid."""
    cells = 0
    for statement in source.of("grid"):
        settings = read_settings(statement, scope.findings)
        grid = _grid(statement, settings, scope.findings) if settings.sound else None
        copies = settings.integer("copies") or 1
        before, cells = cells, cells + (copies * len(grid.cells) if grid else 0)
        if before <= MAX_ALL_CELLS < cells:
            message = f"more than {MAX_ALL_CELLS} cells in all grids together"
            place, hint = statement.name.place, "divide the machine"
            scope.findings.error("too-many-cells", message, place, hint)
        kept = grid if cells <= MAX_ALL_CELLS else None
        if scope.grids.declare(statement, kept) and copies > 1:
            scope.copies[statement.name.text] = copies
        scope.layout.add_lanes(statement, settings, kept)


def _grid(statement: Statement, settings: Settings, findings: Findings) -> Grid | None:
    shape = settings.art("shape")
    size = _size(statement, settings, shape, findings)
    if size is None or not _bounded(size, statement, findings):
        return None
    rows, columns = size
    cells = tuple(
        Cell(row, column)
        for row in range(1, rows + 1)
        for column in range(1, columns + 1)
        if shape is None or shape.rows[row - 1][column - 1] != ABSENT
    )
    if not cells:
        message = f"grid `{statement.name.text}` has no cell"
        findings.error("empty-grid", message, (shape or statement).place, "draw one other than `-`")
        return None
    return Grid(statement.name.text, rows, columns, cells, statement.name.place)


def _size(
    statement: Statement, settings: Settings, shape: Art | None, findings: Findings
) -> tuple[int, int] | None:
    """Rows and columns, as given or as drawn."""
    rows, columns = settings.integer("rows"), settings.integer("columns")
    if shape is not None:
        return _drawn_size(settings, shape, findings)
    if rows is not None and columns is not None:
        return rows, columns
    missing = "`rows`" if columns is not None else "`columns`" if rows is not None else "size"
    message = f"grid `{statement.name.text}` has no {missing}"
    hint = "write `columns 4 rows 6`, or draw its `shape`"
    findings.error("missing-size", message, statement.name.place, hint)
    return None


def _drawn_size(settings: Settings, shape: Art, findings: Findings) -> tuple[int, int] | None:
    if not is_rectangle(shape, "the shape of a grid", findings):
        return None
    drawn = {"rows": len(shape.rows), "columns": len(shape.rows[0])}
    agreed = True
    for key, number in drawn.items():
        amount = settings.amount(key)
        if amount is not None and amount.value != number:
            message = f"`{key} {amount.value}` is given, but the shape has {number}"
            related = Related(shape.place, "drawn here")
            findings.error("size-mismatch", message, amount.place, "leave it out", related)
            agreed = False
    return (drawn["rows"], drawn["columns"]) if agreed else None


def is_rectangle(art: Art, title: str, findings: Findings) -> bool:
    """Whether rows are drawn, all equally wide; else it is reported."""
    if not art.rows or not art.rows[0]:
        hint = "draw rows between bars, such as `{ |ab| |cd| }`"
        findings.error("empty-art", f"{title} is drawn without a cell", art.place, hint)
        return False
    width = len(art.rows[0])
    for row, place in zip(art.rows, art.places, strict=True):
        if len(row) != width:
            message = f"{title} has a row of {len(row)} after one of {width}"
            related = Related(art.places[0], f"the first row, {width} wide")
            findings.error("ragged-art", message, place, "draw all rows equally wide", related)
            return False
    return True


def _bounded(size: tuple[int, int], statement: Statement, findings: Findings) -> bool:
    rows, columns = size
    if rows * columns <= MAX_CELLS:
        return True
    message = f"{columns} columns by {rows} rows are {rows * columns} cells, more than {MAX_CELLS}"
    place: Place = statement.name.place
    findings.error("too-many-cells", message, place, "divide the picture into several grids")
    return False
