"""What makes a font that is out of reach reachable: by splitting, and by moving cells."""

from __future__ import annotations

from dataclasses import dataclass

from seqc.machine.findings import Finding
from seqc.machine.model import Machine
from seqc.solver.reach.causes import Reach
from seqc.solver.reach.moving import Relinking, fewest_moves
from seqc.solver.reach.repair import Repair, smallest_repair


@dataclass(frozen=True)
class Remedy:
    """The smallest repair of each kind."""

    repair: Repair
    relinking: Relinking

    @property
    def hint(self) -> str:
        """Both in a few words; nothing where there is nothing to repair."""
        ways = []
        if self.repair.splits:
            words = ", ".join(f"{s.actuator.name} into {len(s.parts)}" for s in self.repair.splits)
            ways.append(f"split {words}")
        if self.relinking.moves:
            ways.append(", ".join(map(str, self.relinking.moves)))
        return "; or ".join(ways)


def remedy_of(machine: Machine, reach: Reach) -> Remedy:
    """The smallest repairs that bring all glyphs within reach whose kinds are offered."""
    name = reach.grid.name
    return Remedy(
        smallest_repair(machine, name, reach.glyphs), fewest_moves(machine, name, reach.glyphs)
    )


def findings_of(reach: Reach, remedy: Remedy) -> tuple[Finding, ...]:
    """A finding for each kind that is lacking and for each cause."""
    lacks = tuple(lack.finding for lack in reach.lacking)
    return (*lacks, *(cause.finding(remedy.hint) for cause in reach.causes))
