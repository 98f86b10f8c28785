"""All that keeps the glyphs of a font out of reach, by what moves the cells together.

A gate loads cells together and a selector moves a part in the same cells: where a glyph needs the
selector in both positions among them, the two linkages together are a cause.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import or_

from seqc.machine.findings import Finding, Related, Severity
from seqc.machine.glyphs import Glyph
from seqc.machine.parts import Cell, Grid, Part
from seqc.machine.wiring import Actuator
from seqc.machine.wording import amount_of
from seqc.solver.needs import LaneNeeds
from seqc.solver.positions import bits
from seqc.solver.reach.contradictions import Contradiction
from seqc.solver.reach.font_needs import FontNeeds

MOST_NAMED = 8


@dataclass(frozen=True)
class Conflict:
    """A metering actuator, the selector actuators in dispute, and the glyphs that suffer."""

    metering: Actuator
    selectors: tuple[Actuator, ...]
    glyphs: tuple[Glyph, ...]

    def __str__(self) -> str:
        return " and ".join(actuator.name for actuator in (self.metering, *self.selectors))


@dataclass(frozen=True)
class Proof:
    """The fewest cells of one glyph that contradict each other in one conflict."""

    glyph: Glyph
    cells: tuple[Cell, ...]
    kinds: tuple[str, ...]
    conflict: Conflict

    def __str__(self) -> str:
        wants = " and ".join(
            f"{kind} in {cell}" for kind, cell in zip(self.kinds, self.cells, strict=True)
        )
        selectors = ", ".join(actuator.name for actuator in self.conflict.selectors)
        return (
            f"glyph {self.glyph.name!r} wants {wants}, which {self.conflict.metering.name} loads "
            f"together and which need opposite positions of {selectors}"
        )


@dataclass(frozen=True)
class Cause:
    """Linkages that together keep glyphs out of reach, with every conflict."""

    parts: tuple[Part, ...]
    glyphs: tuple[Glyph, ...]
    conflicts: tuple[Conflict, ...]
    proof: Proof

    def __str__(self) -> str:
        words = [f"{part.name} ({part.linkage})" for part in self.parts]
        return f"{', '.join(words[:-1])} and {words[-1]}"

    def finding(self, hint: str = "") -> Finding:
        """The cause as a finding at the linkage of the gate."""
        related = [
            Related(part.linkage.place, f"{part.name} moves {part.linkage}")
            for part in self.parts[1:]
        ]
        related.append(Related(self.proof.glyph.place, f"the glyph {self.proof.glyph.name!r}"))
        message = f"{named(self.glyphs)} out of reach: {self} move cells together; {self.proof}"
        place = self.parts[0].linkage.place
        return Finding(Severity.ERROR, "out-of-reach", message, place, hint, tuple(related))


@dataclass(frozen=True)
class Lacking:
    """A kind that the lanes of some cells don't offer, and the glyphs that want it there."""

    kind: str
    grid: Grid
    cells: tuple[Cell, ...]
    glyphs: tuple[Glyph, ...]

    def __str__(self) -> str:
        more = len(self.cells) - 1
        others = f" and {amount_of(more, 'more cell')}" if more else ""
        return f"no {self.kind} is offered in {self.cells[0]}{others} of {self.grid.name}"

    @property
    def finding(self) -> Finding:
        """The lack as a finding at the first of the glyphs."""
        message = f"{named(self.glyphs)} out of reach: {self}"
        hint = f"let these cells have {self.kind}, or draw them without it"
        place = self.glyphs[0].place
        return Finding(Severity.ERROR, "out-of-reach", message, place, hint)


@dataclass(frozen=True)
class Reach:
    """Which of the glyphs of one grid are out of reach, and why."""

    grid: Grid
    glyphs: tuple[Glyph, ...]
    beyond: tuple[Glyph, ...]
    causes: tuple[Cause, ...]
    lacking: tuple[Lacking, ...]


def named(glyphs: Sequence[Glyph]) -> str:
    """How many glyphs, and the names of the first of them, with the verb: `glyph '7' is`."""
    if len(glyphs) == 1:
        return f"glyph {quoted(glyphs)} is"
    return f"{len(glyphs)} glyphs ({quoted(glyphs)}) are"


def quoted(glyphs: Sequence[Glyph]) -> str:
    """The names of the first glyphs, and how many more there are."""
    names = ", ".join(repr(glyph.name) for glyph in glyphs[:MOST_NAMED])
    more = len(glyphs) - MOST_NAMED
    return f"{names} and {more} more" if more > 0 else names


def explained(needs: FontNeeds, found: Iterable[Contradiction], glyphs: tuple[Glyph, ...]) -> Reach:
    """The causes behind contradictions, those of the most glyphs first, and what a lane lacks."""
    by_parts: dict[tuple[str, ...], list[Contradiction]] = {}
    for one in found:
        parts = dict.fromkeys(actuator.part.name for actuator in one.actuators)
        by_parts.setdefault(tuple(parts), []).append(one)
    causes = [_cause(needs, several) for several in by_parts.values()]
    lost = set(glyphs).difference(needs.glyphs)
    lost.update(glyph for cause in causes for glyph in cause.glyphs)
    beyond = tuple(glyph for glyph in glyphs if glyph in lost)
    ordered = tuple(sorted(causes, key=lambda cause: -len(cause.glyphs)))
    lacking = tuple(_lacking(needs.lane, glyphs))
    return Reach(needs.lane.lane.grid, glyphs, beyond, ordered, lacking)


def _lacking(lane: LaneNeeds, glyphs: Sequence[Glyph]) -> Iterator[Lacking]:
    grid = lane.lane.grid
    wanting: dict[str, tuple[set[Cell], dict[Glyph, None]]] = {}
    for glyph in glyphs:
        for cell, kind, offers in zip(grid.cells, glyph.kinds, lane.offers, strict=True):
            if not offers.get(kind):
                cells, own = wanting.setdefault(kind, (set(), {}))
                cells.add(cell)
                own[glyph] = None
    for kind, (cells, own) in wanting.items():
        yield Lacking(kind, grid, tuple(sorted(cells)), tuple(own))


def _cause(needs: FontNeeds, several: Sequence[Contradiction]) -> Cause:
    """All that the same parts keep out of reach, with the proof of the fewest cells."""
    conflicts = tuple(
        Conflict(found.actuators[0], found.actuators[1:], _glyphs(needs, found.glyphs))
        for found in several
    )
    number = min(range(len(several)), key=lambda n: len(several[n].cells))
    smallest = several[number]
    glyph, grid = needs.glyphs[smallest.first], needs.lane.lane.grid
    proof = Proof(
        glyph,
        tuple(grid.cells[cell] for cell in smallest.cells),
        tuple(glyph.kinds[cell] for cell in smallest.cells),
        conflicts[number],
    )
    parts = {actuator.part.name: actuator.part for found in several for actuator in found.actuators}
    glyphs = _glyphs(needs, reduce(or_, (found.glyphs for found in several)))
    return Cause(tuple(parts.values()), glyphs, conflicts, proof)


def _glyphs(needs: FontNeeds, mask: int) -> tuple[Glyph, ...]:
    return tuple(needs.glyphs[number] for number in bits(mask))
