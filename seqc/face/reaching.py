"""Which glyphs are out of reach, and what would remedy it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from seqc.machine.findings import (
    Finding,
)

if TYPE_CHECKING:
    from seqc.machine.glyphs import Glyph
    from seqc.machine.model import Machine
    from seqc.solver.reach.causes import Reach
    from seqc.solver.reach.nearest import Nearest
    from seqc.solver.reach.remedy import Remedy


@dataclass(frozen=True)
class Beyond:
    """A grid with glyphs out of reach: which and why, what remedies it, and that as findings."""

    reach: Reach
    remedy: Remedy
    findings: tuple[Finding, ...]


def out_of_reach(machine: Machine, glyphs: Iterable[Glyph] | None = None) -> tuple[Beyond, ...]:
    """Every grid with glyphs out of reach, of those given or else of all fonts; none if all can be.

    The repair is for all that the fonts of the grid draw, whichever glyphs are asked about.
    """
    from seqc.solver.reach.contradictions import reach_of

    drawn = dict.fromkeys(glyph for font in machine.fonts for glyph in font.glyphs)
    wanted = drawn if glyphs is None else dict.fromkeys(glyphs)
    lost = []
    for grid in machine.grids:
        reach = reach_of(machine, grid.name, [g for g in wanted if g.grid == grid.name])
        if reach is not None:
            every = [glyph for glyph in drawn | wanted if glyph.grid == grid.name]
            lost.append(_beyond(machine, reach, every))
    return tuple(lost)


def _beyond(machine: Machine, reach: Reach, glyphs: Sequence[Glyph]) -> Beyond:
    from seqc.solver.reach.remedy import findings_of, remedy_of

    remedy = remedy_of(machine, reach.grid.name, glyphs)
    return Beyond(reach, remedy, findings_of(reach, remedy))


def nearest(machine: Machine, beyond: Beyond) -> Iterator[Nearest]:
    """For each glyph out of reach in turn the picture within reach with the fewest wrong cells."""
    from seqc.solver.reach.nearest import nearest_picture

    return (nearest_picture(machine, glyph) for glyph in beyond.reach.beyond)
