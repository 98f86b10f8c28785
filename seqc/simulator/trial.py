"""In which order all tables of a build are tried, so that each starts where it may."""

from __future__ import annotations

from collections.abc import Iterator

from seqc.machine.steptable import Layout, StepTable, TableSet


def trial(tables: TableSet) -> Iterator[StepTable]:
    """Home, then every table at least once, each after a table that shows what it needs.

    A programme runs as it does on the machine, a repeating one until the tick after its last has
    come round once more.
    """
    yield tables.home
    if tables.clear:
        yield tables.clear
    if tables.layout is Layout.PROGRAMME:
        yield from tables.tables
        if tables.repeat_from is not None:
            yield from tables.tables[tables.repeat_from :]
        return
    entries = {table.shows: table for table in tables.tables if not table.after}
    for table in tables.tables:
        if table.after:
            yield entries[table.after]
        yield table
