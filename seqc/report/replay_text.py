"""What a replay saw, as text for people."""

from __future__ import annotations

from collections.abc import Iterator

from seqc.language.rendering import plain
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet
from seqc.machine.tracks import Tables
from seqc.machine.wording import amount_of
from seqc.report.pictures import beside, legend, picture, toned_signs
from seqc.report.words import folded, ms
from seqc.simulator import Replay, Seen

PICTURES_IN_A_ROW = 5


def replay_lines(machine: Machine, replay: Replay) -> Iterator[str]:
    """The verdict and the counts, what is wrong, then the picture after each table, in rows."""
    yield from _verdict(machine, replay)
    for table in replay.unchecked:
        yield f"  picture not compared: no font has this frame: {plain(table)}"
    for fault in replay.faults:
        yield f"  fault: {plain(str(fault))}"
    yield ""
    yield legend(machine)
    for first in range(0, len(replay.seen), PICTURES_IN_A_ROW):
        yield ""
        row = replay.seen[first : first + PICTURES_IN_A_ROW]
        yield from beside([_block(machine, seen) for seen in row])


def _verdict(machine: Machine, replay: Replay) -> Iterator[str]:
    pulses = amount_of(sum(replay.pulses.values()), "pulse")
    tables = amount_of(len(replay.seen), "table")
    length = ms(replay.seen[-1].end_us) if replay.seen else "0 ms"
    cut = ", where the replay ends" if replay.cut_short else ""
    faults = f"{amount_of(len(replay.faults), 'fault')}{cut}" if replay.faults else "no fault"
    yield from folded(f"{plain(machine.name)}: {faults} in {tables} ({length}, {pulses})")
    taken = ", ".join(f"{count:,} {kind}" for kind, count in replay.taken.items())
    yield from folded(f"  used   {plain(taken) or 'nothing'}")


def _block(machine: Machine, seen: Seen) -> list[str]:
    """A picture of each grid under the name of the table, which may be a stranger's."""
    lines = [plain(seen.table), f"until {ms(seen.end_us)}"]
    for grid in machine.grids:
        lines += [grid.name] if len(machine.grids) > 1 else []
        lines += picture(grid, seen.pictures[grid.name], toned_signs(machine))
    return lines


def tables_count(tables: Tables) -> int:
    """How many tables a build has, home not counted."""
    if isinstance(tables, TableSet):
        return len(tables.tables)
    return 2 * sum(len(kind.moves) for kind in tables.kinds)


def tables_words(tables: Tables) -> str:
    """How many tables a build has, with their noun; for tracks how many grids share them."""
    words = amount_of(tables_count(tables), "table")
    if isinstance(tables, TableSet):
        return words
    return f"{words} for {amount_of(len(tables.tracks), 'grid')}, played side by side"
