"""What the glyphs of a font need of the selectors of one lane, with bit sets of glyphs.

Each cell has the bit set of the glyphs that need a selector actuator at rest for it, and thrown.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from seqc.machine.glyphs import Glyph
from seqc.machine.parts import Part
from seqc.solver.needs import LaneNeeds
from seqc.solver.positions import bits
from seqc.solver.ways import Ways

NO_ACTUATOR = -1

BySelector = dict[int, int]
"""By selector actuator a bit set of glyphs."""


@dataclass(frozen=True, eq=False)
class FontNeeds:
    """What some glyphs need of a lane that offers all of their kinds.

    A kind that comes by several routes needs no selector for sure; with `one_route` it comes by
    the first of them only.
    """

    lane: LaneNeeds
    glyphs: tuple[Glyph, ...]
    one_route: bool = False

    @cached_property
    def parts(self) -> tuple[Part, ...]:
        """The parts that decide what is loaded where: the selectors, then the metering gate."""
        return (*self.lane.lane.selectors, self.lane.lane.metering)

    @cached_property
    def moved_by(self) -> tuple[tuple[int, ...], ...]:
        """For each cell the actuator of each part, the metering gate's last.

        `NO_ACTUATOR` stands for that of a selector that the cell doesn't have.
        """
        machine, lane = self.lane.machine, self.lane.lane
        found = [
            {
                cell: actuator.index
                for actuator in machine.actuators_of(part, lane.grid)
                for cell in actuator.cells
            }
            for part in self.parts
        ]
        return tuple(
            tuple(moving.get(cell, NO_ACTUATOR) for moving in found) for cell in lane.grid.cells
        )

    @cached_property
    def glyphs_by_kind(self) -> tuple[dict[str, int], ...]:
        """For each cell and kind the bit set of the glyphs that want the kind there."""
        if not self.glyphs:
            return ({},) * len(self.lane.lane.grid.cells)
        columns = zip(*(glyph.kinds for glyph in reversed(self.glyphs)), strict=True)
        return tuple(_kind_masks(column) for column in columns)

    @cached_property
    def needs(self) -> tuple[tuple[BySelector, BySelector], ...]:
        """For each cell the glyphs that need a selector actuator at rest, and thrown."""
        return tuple(
            self._needs_of(offers, masks)
            for offers, masks in zip(self.lane.offers, self.glyphs_by_kind, strict=True)
        )

    def _needs_of(
        self, offers: Mapping[str, Ways], masks: Mapping[str, int]
    ) -> tuple[BySelector, BySelector]:
        rest: BySelector = {}
        thrown: BySelector = {}
        for kind, glyphs in masks.items():
            way, *others = offers[kind]
            if self.one_route or not others:
                for actuator in bits(way.known):
                    side = thrown if way.thrown >> actuator & 1 else rest
                    side[actuator] = side.get(actuator, 0) | glyphs
        return rest, thrown

    @cached_property
    def by_routes(self) -> int:
        """The bit set of glyphs that want a kind that comes by several routes."""
        mask = 0
        for offers, masks in zip(self.lane.offers, self.glyphs_by_kind, strict=True):
            for kind, glyphs in masks.items():
                if len(offers[kind]) > 1:
                    mask |= glyphs
        return mask

    def opposed(self, cells: Iterable[int]) -> BySelector:
        """By selector actuator the glyphs that need it in both positions among some cells."""
        rest: BySelector = {}
        thrown: BySelector = {}
        for cell in cells:
            for found, more in zip((rest, thrown), self.needs[cell], strict=True):
                for actuator, mask in more.items():
                    found[actuator] = found.get(actuator, 0) | mask
        both = {a: rest[a] & thrown[a] for a in sorted(rest) if a in thrown}
        return {actuator: mask for actuator, mask in both.items() if mask}


def font_needs(lane: LaneNeeds, glyphs: Iterable[Glyph], one_route: bool = False) -> FontNeeds:
    """What some glyphs need of a lane, those left out that want what it doesn't offer."""
    return FontNeeds(lane, tuple(g for g in glyphs if is_offered(lane, g)), one_route)


def is_offered(lane: LaneNeeds, glyph: Glyph) -> bool:
    """Whether each cell can have its kind, whatever the others have."""
    return all(offers.get(kind) for offers, kind in zip(lane.offers, glyph.kinds, strict=True))


def _kind_masks(column: Sequence[str]) -> dict[str, int]:
    kinds = sorted(set(column))
    return {kind: int("".join("01"[each == kind] for each in column), 2) for kind in kinds}
