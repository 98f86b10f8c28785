"""What brings a font within reach: splitting actuators, or moving cells to others."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from seqc.machine.findings import Finding
from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.solver.reach.causes import Reach
from seqc.solver.reach.moves import Regrouping, fewest_moves
from seqc.solver.reach.repair import Repair, smallest_repair

MOST_IN_FULL = 2


@dataclass(frozen=True)
class Remedy:
    """The smallest repair of each kind."""

    repair: Repair
    regrouping: Regrouping

    @property
    def hint(self) -> str:
        """Both in a few words; nothing where there is nothing to repair."""
        splits = self.repair.splits
        in_full = len(splits) <= MOST_IN_FULL and all(split.along for split in splits)
        words = [str(split) if in_full else split.short for split in splits]
        ways = [", ".join(words)] if words else []
        if self.regrouping.moves:
            ways.append(", ".join(map(str, self.regrouping.moves)))
        return "; or ".join(ways)


def remedy_of(machine: Machine, grid: str, glyphs: Collection[Glyph]) -> Remedy:
    """The smallest repairs that bring all glyphs within reach whose kinds are offered."""
    return Remedy(smallest_repair(machine, grid, glyphs), fewest_moves(machine, grid, glyphs))


def findings_of(reach: Reach, remedy: Remedy) -> tuple[Finding, ...]:
    """A finding for each kind that is lacking and for each cause."""
    lacks = tuple(lack.finding for lack in reach.lacking)
    return (*lacks, *(cause.finding(remedy.hint) for cause in reach.causes))
