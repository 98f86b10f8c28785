"""In which order all tables of a build are tried, so that each starts where it may."""

from __future__ import annotations

from collections.abc import Iterator

from seqc.machine.model import Machine
from seqc.machine.steptable import StepTable, TableSet, TablesFor
from seqc.simulator.faults import Fault, FaultKind


def trial(tables: TableSet) -> Iterator[StepTable]:
    """Home, then every table at least once, each after a table that shows what it needs.

    A programme runs as it does on the machine, a repeating one until the tick after its last has
    come round once more. Of commissioning any table may follow any.
    """
    yield tables.home
    if tables.clear:
        yield tables.clear
    if tables.tables_for is TablesFor.COMMISSIONING:
        yield from tables.tables
        return
    if tables.tables_for is TablesFor.PROGRAMME:
        yield from tables.tables
        if tables.repeat_from is not None:
            yield from tables.tables[tables.repeat_from :]
        return
    entries = {table.shows: table for table in tables.tables if not table.after}
    for table in tables.tables:
        if table.after in entries:
            yield entries[table.after]
        yield table


def misfits(machine: Machine, tables: TableSet) -> Iterator[Fault]:
    """What doesn't fit the machine in a whole set, where its tables one by one don't tell."""
    if tables.width != machine.width:
        what = f"the tables are for {tables.width} outputs, and the machine has {machine.width}"
        yield Fault(FaultKind.BAD_TABLE, 0, tables.home.name, what)
    elif tables.idle_word != machine.idle_word:
        levels = f"{tables.idle_word:#x}, and those of the machine {machine.idle_word:#x}"
        what = f"the levels at which no output is active are {levels}"
        yield Fault(FaultKind.BAD_TABLE, 0, tables.home.name, what)
