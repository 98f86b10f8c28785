"""In which order all tables of a build are tried, so that each starts where it may."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from seqc.machine.model import Machine
from seqc.machine.steptable import StepTable, TablesFor
from seqc.machine.tracks import Tables, TrackSet
from seqc.simulator.faults import Fault, FaultKind


def trial(tables: Tables) -> Iterator[StepTable]:
    """Home, then every table at least once, each after a table that shows what it needs.

    A programme runs as it does on the machine, a repeating one until the tick after its last has
    come round once more. Of commissioning any table may follow any. Of tracks come every two
    different ticks that follow each other, and every first load of each.
    """
    if isinstance(tables, TrackSet):
        yield from _of_tracks(tables)
        return
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


def _of_tracks(tracks: TrackSet) -> Iterator[StepTable]:
    """Three ticks from home, once for each moment at which anything comes that hasn't come yet."""
    for start in _starts(tracks):
        yield tracks.home
        yield tracks.first(start)
        yield tracks.tick(start, first=True)
        yield tracks.tick(start + 1)
        yield tracks.tick(start + 2)


def _starts(tracks: TrackSet) -> list[int]:
    """The moments from which all that differs comes: first loads, ticks after them, neighbours."""
    count = tracks.ticks
    columns = [[tracks.shown(track, tick) for tick in range(count)] for track in tracks.tracks]
    loads = list(zip(*map(_loads, columns), strict=True))
    # What a tick changes was loaded in the one before: three loads in a row are two whole ticks.
    rows = zip([loads[-1], *loads], loads, [*loads[1:], loads[0]], strict=False)
    found = {row: tick - 1 for tick, row in enumerate(rows)}
    firsts = dict(zip(loads, range(count), strict=True))
    shown = {(n, glyph): at for n, column in enumerate(columns) for at, glyph in enumerate(column)}
    return sorted({at % count for at in (*found.values(), *firsts.values(), *shown.values())})


def _loads(shown: Sequence[str]) -> list[tuple[str, str] | None]:
    """What a track loads at each tick: what is seen then, and what comes, where they differ."""
    pairs = zip(shown, [*shown[1:], shown[0]], strict=True)
    return [pair if pair[0] != pair[1] else None for pair in pairs]


def misfits(machine: Machine, tables: Tables) -> Iterator[Fault]:
    """What doesn't fit the machine in a whole set, where its tables one by one don't tell."""
    if tables.width != machine.width:
        what = f"the tables are for {tables.width} outputs, and the machine has {machine.width}"
        yield Fault(FaultKind.BAD_TABLE, 0, tables.home.name, what)
    elif tables.idle_word != machine.idle_word:
        levels = f"{tables.idle_word:#x}, and those of the machine {machine.idle_word:#x}"
        what = f"the levels at which no output is active are {levels}"
        yield Fault(FaultKind.BAD_TABLE, 0, tables.home.name, what)
