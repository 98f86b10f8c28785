"""Pictures of one kind, as far as linkages allow: in a few of them every lane lets the kind go.

Lanes whose selectors hang together the wrong way round can't all offer a kind at once; then each
group of the metering gate takes several turns, and a lane that isn't meant offers what it does.
"""

from __future__ import annotations

from dataclasses import dataclass

from seqc.machine.glyphs import Glyph
from seqc.solver.needs import LaneNeeds, MeteringGroup
from seqc.solver.positions import Positions


@dataclass(frozen=True, slots=True)
class Turn:
    """One cycle of a group: where the selectors are, at home elsewhere, and what its cells take."""

    group: MeteringGroup
    positions: Positions
    kinds: tuple[str, ...]


def turns(needs: LaneNeeds, group: MeteringGroup, kind: str) -> tuple[Turn, ...]:
    """The cycles of a group in which every cell that can takes a kind, each cell in one of them."""
    left = [cell for cell in group.cells if kind in needs.offers[cell]]
    found: list[Turn] = []
    while left:
        held = Positions()
        for cell in left:
            way = next((way for way in needs.offers[cell][kind] if way.meet(held)), Positions())
            held = held.then(way)
        turn = Turn(group, held, tuple(offered(needs, cell, held) for cell in group.cells))
        found.append(turn)
        taken = dict(zip(group.cells, turn.kinds, strict=True))
        left = [cell for cell in left if taken[cell] != kind]
    return tuple(found)


def offered(needs: LaneNeeds, cell: int, held: Positions) -> str:
    """What a cell takes where some selectors are held and all others are at rest."""
    every = Positions(needs.selector_mask, held.thrown)
    offers = needs.offers[cell].items()
    return next(kind for kind, ways in offers for way in ways if not every.missing(way))


def pictures(needs: LaneNeeds, kind: str) -> tuple[Glyph, ...]:
    """The fewest pictures found in which every cell that can shows the kind at least once."""
    by_group = [turns(needs, group, kind) for group in needs.groups]
    home = [
        Turn(group, Positions(), tuple(offered(needs, cell, Positions()) for cell in group.cells))
        for group in needs.groups
    ]
    rows = []
    for number in range(max(map(len, by_group))):
        kinds = [""] * len(needs.lane.grid.cells)
        for own, rest in zip(by_group, home, strict=True):
            turn = own[min(number, len(own) - 1)] if own else rest
            for cell, taken in zip(turn.group.cells, turn.kinds, strict=True):
                kinds[cell] = taken
        rows.append(tuple(kinds))
    return tuple(Glyph(kind, "", needs.lane.grid.name, kinds) for kinds in rows)
