"""Which cells of a grid must be torn apart so that every glyph of a font can be loaded.

Two cells are opposed by a selector part if one glyph needs that part in opposite positions in the
two of them. They are at odds where one actuator loads both and one moves the part in both. Glyphs
are bits: each cell has the bit set of the glyphs that need a part at rest there, and thrown.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, reduce
from operator import or_

from seqc.machine.glyphs import Glyph
from seqc.solver.needs import LaneNeeds, LoadGroup
from seqc.solver.positions import bits
from seqc.solver.reach.agreement import can_all_hold
from seqc.solver.ways import NEVER, Ways


@dataclass(frozen=True, eq=False)
class Block:
    """Cells that one metering actuator loads and that hang together by what opposes them.

    A member is a set of cells that want the same kinds in every glyph and are moved by the same
    actuators. `moved_by` has for each member the actuator of each selector part, `opposed` for
    each part and member the bit set of members at odds with it. `wishes` are the glyphs in which
    kinds come by several routes, each with the ways of every member.
    """

    metering: int
    members: tuple[tuple[int, ...], ...]
    moved_by: tuple[tuple[int, ...], ...]
    opposed: tuple[tuple[int, ...], ...]
    wishes: tuple[tuple[Ways, ...], ...]

    @property
    def disputed(self) -> tuple[int, ...]:
        """The numbers of the selector parts that could be at odds in it."""
        if self.wishes:
            return tuple(range(len(self.opposed)))
        return tuple(part for part, masks in enumerate(self.opposed) if any(masks))

    @property
    def selectors(self) -> tuple[int, ...]:
        """The selector actuators whose split could help, in order."""
        return tuple(sorted({own[part] for own in self.moved_by for part in self.disputed}))


@dataclass(frozen=True, eq=False)
class Contention:
    """What the glyphs of a font want of one lane; every kind of them is offered.

    With `one_route` each kind comes by the first of its routes only.
    """

    lane: LaneNeeds
    glyphs: tuple[Glyph, ...]
    one_route: bool = False

    @cached_property
    def offers(self) -> tuple[Mapping[str, Ways], ...]:
        """For each cell, the ways to offer each kind."""
        if not self.one_route:
            return self.lane.offers
        return tuple(
            {kind: ways[:1] for kind, ways in offers.items()} for offers in self.lane.offers
        )

    @cached_property
    def moved_by(self) -> tuple[tuple[int, ...], ...]:
        """For each cell the actuator of each selector part."""
        machine, lane = self.lane.machine, self.lane.lane
        return tuple(
            tuple(machine.actuator_of(part, lane.grid, cell).index for part in lane.selectors)
            for cell in lane.grid.cells
        )

    @cached_property
    def glyphs_by_kind(self) -> tuple[dict[str, int], ...]:
        """For each cell and kind the bit set of the glyphs that want the kind there."""
        if not self.glyphs:
            return ({},) * len(self.lane.lane.grid.cells)
        columns = zip(*(glyph.kinds for glyph in reversed(self.glyphs)), strict=True)
        return tuple(_kind_masks(column) for column in columns)

    @cached_property
    def needs(self) -> tuple[tuple[dict[int, int], dict[int, int]], ...]:
        """For each cell the bit sets of glyphs that need a selector actuator at rest, and thrown.

        A kind that comes by several routes needs none of them for sure.
        """
        return tuple(_needs(self.offers[c], masks) for c, masks in enumerate(self.glyphs_by_kind))

    def unloadable(self, cells: Sequence[int]) -> dict[int, int]:
        """By selector actuator, the glyphs that need it in opposite positions among some cells."""
        rest: dict[int, int] = {}
        thrown: dict[int, int] = {}
        for cell in cells:
            for found, more in zip((rest, thrown), self.needs[cell], strict=True):
                for actuator, mask in more.items():
                    found[actuator] = found.get(actuator, 0) | mask
        both = {a: rest[a] & thrown[a] for a in sorted(rest) if a in thrown}
        return {actuator: mask for actuator, mask in both.items() if mask}

    @cached_property
    def loose(self) -> int:
        """The bit set of glyphs that want a kind that comes by several routes."""
        mask = 0
        for cell, masks in enumerate(self.glyphs_by_kind):
            for kind, glyphs in masks.items():
                if len(self.offers[cell][kind]) > 1:
                    mask |= glyphs
        return mask

    @cached_property
    def blocks(self) -> tuple[Block, ...]:
        """Every block of two members or more; glyphs that its gate can load have no part in it."""
        return tuple(block for group in self.lane.groups for block in self._blocks_of(group))

    def barred(self, cells: Sequence[int]) -> int:
        """The bit set of glyphs that can't be loaded into some cells together."""
        mask = reduce(or_, self.unloadable(cells).values(), 0)
        for number in bits(self.loose & ~mask):
            if not can_all_hold(self._wish(cells, number)):
                mask |= 1 << number
        return mask

    def _wish(self, cells: Iterable[int], number: int) -> tuple[Ways, ...]:
        """The ways of some cells in one glyph."""
        kinds = self.glyphs[number].kinds
        return tuple(self.offers[cell][kinds[cell]] for cell in cells)

    def _members(self, cells: Iterable[int], glyphs: int) -> tuple[tuple[int, ...], ...]:
        """The cells in sets that are moved alike and want the same in all of some glyphs."""
        alike: dict[object, list[int]] = {}
        for cell in cells:
            own = sorted(self.glyphs_by_kind[cell].items())
            masks = tuple((kind, mask & glyphs) for kind, mask in own if mask & glyphs)
            alike.setdefault((self.moved_by[cell], masks), []).append(cell)
        return tuple(tuple(members) for members in alike.values())

    def _blocks_of(self, group: LoadGroup) -> Iterator[Block]:
        barred = self.barred(group.cells)
        members = self._members(group.cells, barred) if barred else ()
        first = [member[0] for member in members]
        opposed = [self._opposed(first, part) for part in range(len(self.lane.lane.selectors))]
        near = [0] * len(members)
        for number in range(len(members)):
            for masks in opposed:
                near[number] |= masks[number]
        if barred & self.loose:
            near = [mask | self._tied(first, number) for number, mask in enumerate(near)]
        for some in _connected(near):
            if len(some) > 1:
                own = tuple(members[number] for number in some)
                wishes = self._wishes(own, barred & self.loose)
                yield self._block(group.actuator.index, own, _among(opposed, some), wishes)

    def _opposed(self, cells: Sequence[int], part: int) -> list[int]:
        """For each of some cells the bit set of those at odds with it by one part."""
        masks = [0] * len(cells)
        same: dict[int, list[int]] = {}
        for number, cell in enumerate(cells):
            same.setdefault(self.moved_by[cell][part], []).append(number)
        for actuator, numbers in same.items():
            needs = [self.needs[cells[number]] for number in numbers]
            pairs = [(rest.get(actuator, 0), thrown.get(actuator, 0)) for rest, thrown in needs]
            for number, mask in zip(numbers, _opposed_masks(pairs, numbers), strict=True):
                masks[number] = mask
        return masks

    def _tied(self, cells: Sequence[int], number: int) -> int:
        """The bit set of those among some cells that share a selector actuator with one."""
        own = set(self.moved_by[cells[number]])
        return sum(
            1 << other
            for other, cell in enumerate(cells)
            if other != number and own.intersection(self.moved_by[cell])
        )

    def _block(
        self,
        metering: int,
        members: tuple[tuple[int, ...], ...],
        opposed: Sequence[Sequence[int]],
        wishes: tuple[tuple[Ways, ...], ...],
    ) -> Block:
        moved_by = tuple(self.moved_by[member[0]] for member in members)
        return Block(metering, members, moved_by, tuple(map(tuple, opposed)), wishes)

    def _wishes(
        self, members: Sequence[tuple[int, ...]], glyphs: int
    ) -> tuple[tuple[Ways, ...], ...]:
        cells = [member[0] for member in members]
        wanted = dict.fromkeys(self._wish(cells, number) for number in bits(glyphs))
        return tuple(wish for wish in wanted if any(len(ways) > 1 for ways in wish))


def contention_of(lane: LaneNeeds, glyphs: Iterable[Glyph]) -> Contention:
    """What some glyphs want of a lane, those left out that want what it doesn't offer."""
    return Contention(lane, tuple(glyph for glyph in glyphs if is_offered(lane, glyph)))


def is_offered(lane: LaneNeeds, glyph: Glyph) -> bool:
    """Whether each cell can have its kind, whatever the others have."""
    return all(
        offers.get(kind, NEVER) for offers, kind in zip(lane.offers, glyph.kinds, strict=True)
    )


def _kind_masks(column: Sequence[str]) -> dict[str, int]:
    kinds = sorted(set(column))
    return {kind: int("".join("01"[each == kind] for each in column), 2) for kind in kinds}


def _needs(
    offers: Mapping[str, Ways], masks: Mapping[str, int]
) -> tuple[dict[int, int], dict[int, int]]:
    rest: dict[int, int] = {}
    thrown: dict[int, int] = {}
    for kind, glyphs in masks.items():
        ways = offers[kind]
        if len(ways) == 1:
            for actuator in bits(ways[0].known):
                side = thrown if ways[0].thrown >> actuator & 1 else rest
                side[actuator] = side.get(actuator, 0) | glyphs
    return rest, thrown


def _opposed_masks(pairs: Sequence[tuple[int, int]], numbers: Sequence[int]) -> list[int]:
    """For each pair of bit sets, rest and thrown, the numbers of those that it contradicts."""
    found = [0] * len(pairs)
    for i, (rest, thrown) in enumerate(pairs):
        for j in range(i):
            if rest & pairs[j][1] or thrown & pairs[j][0]:
                found[i] |= 1 << numbers[j]
                found[j] |= 1 << numbers[i]
    return found


def _connected(near: Sequence[int]) -> Iterator[list[int]]:
    """The numbers in sets that hang together, each in order."""
    left = (1 << len(near)) - 1
    while left:
        found = waiting = left & -left
        while waiting:
            low = waiting & -waiting
            more = near[low.bit_length() - 1] & ~found
            found |= more
            waiting = waiting & ~low | more
        left &= ~found
        yield list(bits(found))


def _among(masks: Sequence[Sequence[int]], some: Sequence[int]) -> Sequence[Sequence[int]]:
    """Rows of bit sets for some numbers only, by their ranks."""
    if masks and len(some) == len(masks[0]):
        return masks
    return [[renumbered(row[number], some) for number in some] for row in masks]


def renumbered(mask: int, some: Sequence[int]) -> int:
    """A bit set of numbers as one of their ranks in a list of some."""
    return sum(1 << new for new, old in enumerate(some) if mask >> old & 1)
