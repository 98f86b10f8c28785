"""What a replay saw, as text for people."""

from __future__ import annotations

from collections.abc import Iterator

from seqc.language.rendering import plain
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet
from seqc.machine.wording import amount_of
from seqc.report.pictures import beside, legend, picture, signs_of
from seqc.report.plan_text import ms
from seqc.simulator import Replay, Seen

PICTURES_IN_A_ROW = 5


def replay_lines(machine: Machine, replay: Replay) -> Iterator[str]:
    """The picture after each table, several in a row, then what is wrong, and the counts."""
    yield legend(machine)
    for first in range(0, len(replay.seen), PICTURES_IN_A_ROW):
        yield ""
        row = replay.seen[first : first + PICTURES_IN_A_ROW]
        yield from beside([_block(machine, seen) for seen in row])
    yield ""
    for table in replay.unchecked:
        yield f"not judged, since no font draws what it shows: {plain(table)}"
    for fault in replay.faults:
        yield f"fault: {plain(str(fault))}"
    pulses = sum(replay.pulses.values())
    taken = ", ".join(f"{count} {kind}" for kind, count in replay.taken.items())
    counts = f"{amount_of(len(replay.seen), 'table')}, {amount_of(pulses, 'pulse')}"
    yield f"{counts}; items taken: {plain(taken) or 'none'}"
    cut = ", where the replay ends" if replay.cut_short else ""
    yield f"{amount_of(len(replay.faults), 'fault')}{cut}" if replay.faults else "no fault"


def _block(machine: Machine, seen: Seen) -> list[str]:
    """A picture of each grid under the name of the table, which may be a stranger's."""
    lines = [plain(seen.table), f"until {ms(seen.end_us)}"]
    for grid in machine.grids:
        lines += [grid.name] if len(machine.grids) > 1 else []
        lines += picture(grid, seen.pictures[grid.name], signs_of(machine))
    return lines


def tables_words(table_set: TableSet) -> str:
    """How many tables a build has, with their noun."""
    return amount_of(len(table_set.tables), "table")
