"""Which grid changes and loads what, tick by tick, in a round of a programme by tracks."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from seqc.machine.glyphs import Programme
from seqc.machine.tracks import NOTHING
from seqc.schedule.tracks.kinds import Copy
from seqc.solver.rotations import Move

T = TypeVar("T")

Row = tuple[Move | None, ...]
"""For each copy the move that it makes in a tick, None where it makes none."""


class Round:
    """The rows of all ticks: what changes in each, and what is loaded for the next."""

    def __init__(self, programme: Programme, copies: Sequence[Copy]) -> None:
        self._count = len(programme.frames)
        self._shown = [copy.once for copy in copies]
        columns = [self.column(number, lambda move, _: move) for number in range(len(copies))]
        self.changes: list[Row] = list(zip(*columns, strict=True))
        self.loads: list[Row] = [*self.changes[1:], self.changes[0]]

    def column(self, number: int, of: Callable[[Move | None, str], T]) -> list[T]:
        """Something of each tick of one copy, by its move and what is seen then."""
        names = self._shown[number]
        before = [names[-1], *names[:-1]]
        pairs = zip(before, names, strict=True)
        once = [of(pair if pair[0] != pair[1] else None, pair[1]) for pair in pairs]
        return once * (self._count // len(once))

    @property
    def firsts(self) -> Row:
        """What the first tick changes after a first load."""
        return tuple(None if names[0] == NOTHING else (None, names[0]) for names in self._shown)
