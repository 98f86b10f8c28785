"""Which grid changes and loads what, tick by tick, in a round of a programme by tracks."""

from __future__ import annotations

from collections.abc import Sequence

from seqc.machine.glyphs import Programme
from seqc.schedule.tracks.kinds import Copy
from seqc.solver.rotations import Move

Row = tuple[Move | None, ...]
"""For each copy the move that it makes in a tick, None where it makes none."""


class Round:
    """The rows of all ticks: what changes in each, and what is loaded for the next."""

    def __init__(self, programme: Programme, copies: Sequence[Copy]) -> None:
        count = len(programme.frames)
        self.shown = [
            [glyph.name for glyph in copy.rotation.over(count)] if copy.rotation else [""] * count
            for copy in copies
        ]
        columns = [_moves(names) for names in self.shown]
        self.changes: list[Row] = list(zip(*columns, strict=True))
        self.loads: list[Row] = [*self.changes[1:], self.changes[0]]

    @property
    def firsts(self) -> Row:
        """What the first tick changes after a first load."""
        return tuple((None, names[0]) if names[0] else None for names in self.shown)


def _moves(names: Sequence[str]) -> list[Move | None]:
    pairs = list(zip([names[-1], *names[:-1]], names, strict=True))
    known = {pair: pair if pair[0] != pair[1] else None for pair in pairs}
    return [known[pair] for pair in pairs]
