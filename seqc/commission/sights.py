"""What was played and seen since the last home, for the diagnosis to explain."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from seqc.faults import (
    NOT_LOOKED,
    Diagnosis,
    Evidence,
    Examiner,
    NextTable,
    Sight,
    next_table,
)
from seqc.machine.glyphs import Frame
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet
from seqc.schedule.commissioning import Named
from seqc.simulator.simulator import Picture

Row = tuple[Sight, ...]


class Sights:
    """A row of tables since home, each with what was seen of it; gone when nothing is known."""

    def __init__(self, machine: Machine, frame: TableSet) -> None:
        self.machine = machine
        self.row: list[Sight] = []
        self._home = (frame.home, *([frame.clear] if frame.clear else []))
        self._before: dict[str, Picture] = {}
        self._handled: list[str] = []
        self._known = False

    def home(self) -> None:
        """All is at rest, and what was seen before is what is there."""
        before = self.row[-1].seen if self.row else self._before
        self._before = dict(before)
        self.row = []
        self._known = True

    def lose(self) -> None:
        """Whatever was played may have been broken off."""
        self.row, self._before, self._known = [], {}, False

    def play(self, named: Named) -> None:
        """A table is played; one of a value that isn't the declared tells nothing of faults."""
        if named.machine is not self.machine:
            self.row, self._before = [], {}
            return
        self.row.append(Sight(named.name, named.table, {}))

    def see(self, grid: str, picture: Picture) -> None:
        """What is seen now of a grid."""
        if not self.row:
            self._before[grid] = picture
            return
        seen: Mapping[str, Picture] = {**self.row[-1].seen, grid: picture}
        self.row[-1] = self.row[-1]._replace(seen=seen)

    def seen_of(self, grid: str, unseen: Picture) -> Picture:
        """What was marked of a grid so far, since the last table."""
        seen = self.row[-1].seen if self.row else self._before
        return tuple(seen.get(grid, unseen))

    def handle(self, part: str) -> None:
        """A part was worked on, so that it is likelier to be at fault."""
        self._handled += [a.name for a in self.machine.actuators if part.endswith(f" of {a.name}")]

    def looked_at(self) -> Row:
        """The tables since home, each with what was seen of it; none where nothing was seen."""
        row = tuple(self.row)
        seen = any(set(kinds) - {NOT_LOOKED} for sight in row for kinds in sight.seen.values())
        return row if seen else ()

    def examined(
        self, row: Row, worn: Mapping[str, float], is_new: bool, candidates: Sequence[Named]
    ) -> tuple[Diagnosis, tuple[str, Frame, NextTable] | None]:
        """What explains all that was seen of a row, and the candidate that would narrow it most.

        The latter is None where none would. Takes its time, in which the row itself may go on.
        """
        evidence = Evidence(worn, tuple(self._handled), is_new)
        examiner = Examiner(
            self.machine, self._home, before=self._before or None, evidence=evidence
        )
        for sight in row:
            examiner.play(sight.table)
        found = examiner.diagnosed([sight.seen for sight in row])
        best = next_table(examiner, found, [one.table for one in candidates])
        if best is None:
            return found, None
        chosen = candidates[best.number]
        return found, (f"table {chosen.name!r}", Frame(chosen.shows), best)
