"""What a sheet is made of, whatever it is about."""

from __future__ import annotations

from typing import NamedTuple

from seqc.report.drawings.svg import Drawing


class Table(NamedTuple):
    """Rows under a head; with `ticked` each row begins with a box to tick.

    `figures` are the columns of numbers. With `boxed` each cell that isn't empty has a box.
    """

    title: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    ticked: bool = True
    figures: tuple[int, ...] = ()
    boxed: bool = False


class Sheet(NamedTuple):
    """A sheet: what it is for, its tables or pictures, and what to mind."""

    name: str
    title: str
    told: tuple[str, ...]
    tables: tuple[Table, ...] = ()
    drawings: tuple[Drawing, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def rows(self) -> int:
        """How many rows it has in all, by which its type is chosen so that it fits on a page."""
        return sum(len(table.rows) + 3 for table in self.tables)

    @property
    def density(self) -> str:
        """How closely it is set."""
        return "loose" if self.rows <= 30 else "close" if self.rows <= 56 else "tight"
