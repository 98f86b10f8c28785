"""What a replay saw, as text for people."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from seqc.language.rendering import plain
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet, TablesFor
from seqc.machine.tracks import Tables
from seqc.machine.wording import amount_of
from seqc.report.pictures import beside, legend, picture, toned_signs
from seqc.report.tones import width
from seqc.report.words import columns, folded, frames_words, ms, table
from seqc.simulator import Replay, Seen

MOST_FRAMES = 20
"""So many frames are drawn unless more are asked for."""

GAP = 3
"""Columns between two frames that stand beside each other."""

Block = list[str]


@dataclass(frozen=True, slots=True)
class Showing:
    """A replay, parted: the tables before the first frame, and those that lead to a frame each.

    Where a programme's second round was as its first (`again`), the frames are those of the first.
    """

    replay: Replay
    start: Sequence[Seen]
    frames: Sequence[Seen]
    again: bool = False

    @classmethod
    def of(cls, tables: TableSet, replay: Replay) -> Showing:
        """Part a replay by the tables that it ran."""
        count, start = len(list(tables)), len(list(tables)) - len(tables.tables)
        if tables.tables_for is not TablesFor.PROGRAMME:
            return cls(replay, replay.seen[:start], replay.seen[start:])
        start += next((n for n, each in enumerate(tables.tables) if each.shows), 0)
        once, more = replay.seen[:count], replay.seen[count:]
        first = once[len(once) - len(more) :]
        again = bool(more) and [each.pictures for each in more] == [each.pictures for each in first]
        return cls(replay, once[:start], once[start:] if again else replay.seen[start:], again)

    def words(self, first: int, drawn: int) -> str:
        """Which frames are drawn, how to see more, and whether a second round was the same."""
        count = len(self.frames)
        words = frames_words(first, drawn, count)
        if drawn == count:
            words = "round 1 below" if self.again else f"{amount_of(count, 'frame')} below"
        return f"{words}; round 2 the same" if self.again else words


def replay_lines(
    machine: Machine, showing: Showing, first: int = 1, most: int = MOST_FRAMES
) -> Iterator[str]:
    """The verdict and the counts, what is wrong, then the picture after each table, in rows.

    At most `most` frames are drawn, from number `first` on; they count from 1.
    """
    replay = showing.replay
    drawn = showing.frames[first - 1 : first - 1 + most]
    yield from _verdict(machine, replay)
    start = ", ".join(f"{each.table} {ms(each.end_us - each.start_us)}" for each in showing.start)
    rows = [("start", plain(start)), ("used", _used(machine, replay))]
    rows += [("seen", showing.words(first, len(drawn)))] if drawn else []
    yield from table(rows)
    for name in replay.unchecked:
        yield f"  picture not compared: no font has this frame: {plain(name)}"
    for fault in replay.faults:
        yield f"  fault: {plain(str(fault))}"
    if drawn:
        yield ""
        yield legend(machine)
    for row in _rows([_block(machine, each) for each in drawn]):
        yield ""
        yield from beside(row)


def _verdict(machine: Machine, replay: Replay) -> Iterator[str]:
    pulses = amount_of(sum(replay.pulses.values()), "pulse")
    count = amount_of(len(replay.seen), "table")
    length = ms(replay.seen[-1].end_us) if replay.seen else "0 ms"
    cut = ", where the replay ends" if replay.cut_short else ""
    faults = f"{amount_of(len(replay.faults), 'fault')}{cut}" if replay.faults else "no fault"
    yield from folded(f"{plain(machine.name)}: {faults} in {count} ({length}, {pulses})")


def _used(machine: Machine, replay: Replay) -> str:
    """How many items of each kind were taken, in the order of their declaration."""
    counts = [(item.name, replay.taken.get(item.name, 0)) for item in machine.items]
    return ", ".join(f"{count:,} {name}" for name, count in counts if count) or "nothing"


def _rows(blocks: Sequence[Block]) -> Iterator[list[Block]]:
    """Blocks dealt out to rows, as many in each as go beside each other on the screen."""
    wide = max((width(line) for block in blocks for line in block), default=0) + GAP
    most = max((columns() + GAP) // wide, 1)
    for first in range(0, len(blocks), most):
        yield list(blocks[first : first + most])


def _block(machine: Machine, seen: Seen) -> Block:
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
