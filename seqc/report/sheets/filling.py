"""The filling sheet: how many items of each kind go into each magazine."""

from __future__ import annotations

from seqc.forecast.result import Forecast
from seqc.forecast.span import spoken
from seqc.forecast.stock import KindStock
from seqc.machine.parts import Cell, Grid
from seqc.report.sheets.sheet import Sheet, Table


def filling_sheet(forecast: Forecast) -> Sheet:
    """For each kind and grid the counts where the magazines are, a box for each."""
    tables = [
        table
        for kind in forecast.stocks
        for grid in forecast.machine.grids
        if (table := _table(kind, grid, len(forecast.machine.grids) > 1)) is not None
    ]
    told = (
        f"For {forecast.programme}, {spoken(forecast.asked_us)}. Rows and columns as they are seen "
        "from the front.",
    )
    title = f"Filling of {forecast.machine.name}"
    return Sheet("filling", title, told, tuple(tables))


def _table(kind: KindStock, grid: Grid, named: bool) -> Table | None:
    returns = kind.item.recirculate_us is not None
    load = kind.fill_recirculated if returns else kind.fill
    counts = {m.cell: count for m, count in load.items() if m.grid == grid.name}
    if not any(counts.values()):
        return None
    rows = tuple(
        (
            str(row),
            *(_count(counts, Cell(row, column)) for column in range(1, grid.columns + 1)),
        )
        for row in range(1, grid.rows + 1)
    )
    where = f" of {grid.name}" if named else ""
    way = "recirculated" if returns else "none recirculated"
    title = f"{kind.item.name}{where}: {sum(counts.values()):,} ({way})"
    head = ("row", *map(str, range(1, grid.columns + 1)))
    return Table(title, head, rows, False, tuple(range(1, grid.columns + 1)), True)


def _count(counts: dict[Cell, int], cell: Cell) -> str:
    return f"{counts[cell]:,}" if cell in counts else ""
