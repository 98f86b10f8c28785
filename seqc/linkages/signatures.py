"""What the cells of a machine's grid want of its selectors, glyph by glyph."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from seqc.linkages.question import FREE, Design, Labels, Wants, numbered
from seqc.machine.glyphs import Glyph
from seqc.machine.parts import Branch, Feed, Lane, Part

_Route = Mapping[str, bool]
"""By the name of each selector on the way of a kind, whether it is thrown."""


@dataclass(frozen=True)
class Ways:
    """One way of each kind, and whether there are no others."""

    route: Mapping[str, _Route]
    single: bool


def ways_of(lane: Lane) -> Ways:
    """The first way of each kind through the selectors of a lane."""
    found: dict[str, list[_Route]] = {}
    waiting: list[tuple[Feed, _Route]] = [(lane.feed, {})]
    while waiting:
        feed, route = waiting.pop()
        if isinstance(feed, Branch):
            name = feed.selector.name
            waiting += [(feed.thrown, {**route, name: True}), (feed.rest, {**route, name: False})]
        else:
            found.setdefault(feed.name, []).append(route)
    single = all(len(routes) == 1 for routes in found.values())
    return Ways({kind: routes[0] for kind, routes in found.items()}, single)


def wants_of(lane: Lane, glyphs: Sequence[Glyph], reserve: Sequence[Glyph] = ()) -> Wants:
    """The wants of the cells for some glyphs, and for others that need only be within reach."""
    every = [*glyphs, *(glyph for glyph in reserve if glyph not in glyphs)]
    route = ways_of(lane).route
    cells = range(len(lane.grid.cells))

    def masks(part: Part, thrown: bool) -> Labels:
        wanted = {kind for kind, ways in route.items() if ways.get(part.name) is thrown}
        return tuple(
            sum((glyph.kinds[cell] in wanted) << number for number, glyph in enumerate(every))
            for cell in cells
        )

    rest = tuple(masks(part, False) for part in lane.selectors)
    thrown = tuple(masks(part, True) for part in lane.selectors)
    return Wants(rest, thrown, (1 << len(glyphs)) - 1)


def linked_parts(lane: Lane) -> tuple[Part, ...]:
    """The parts whose linkages are sought: the selectors, then the metering gate."""
    return (*lane.selectors, lane.metering)


def design_of(lane: Lane) -> Design:
    """The design that a lane has."""
    return Design(
        tuple(
            numbered([part.linkage.label(cell) for cell in lane.grid.cells])
            for part in linked_parts(lane)
        )
    )


def plain_design(lane: Lane) -> Design:
    """Selectors by row, the metering gate by column."""
    cells = lane.grid.cells
    rows = numbered([cell.row for cell in cells])
    columns = numbered([cell.column for cell in cells])
    return Design((*[rows] * len(lane.selectors), columns))


def cell_gates(lane: Lane) -> Design:
    """A metering gate for each cell, the selectors of all cells tied together."""
    cells = len(lane.grid.cells)
    return Design((*[(0,) * cells] * len(lane.selectors), tuple(range(cells))))


def built_labels(lane: Lane, built: Sequence[str]) -> tuple[Labels, ...]:
    """The groups that are there already: parts by name, `drop`, or single groups, `pick.r1`.

    Raises KeyError for a name that is neither.
    """
    known = {part.name for part in linked_parts(lane)}
    known |= {
        f"{part.name}.{part.linkage.label(cell)}"
        for part in linked_parts(lane)
        for cell in lane.grid.cells
    }
    for name in built:
        if name not in known:
            raise KeyError(name)
    return tuple(_built(part, lane, set(built)) for part in linked_parts(lane))


def _built(part: Part, lane: Lane, built: set[str]) -> Labels:
    numbers: dict[str, int] = {}
    labels = []
    for cell in lane.grid.cells:
        label = part.linkage.label(cell)
        fixed = part.name in built or f"{part.name}.{label}" in built
        labels.append(numbers.setdefault(label, len(numbers)) if fixed else FREE)
    return tuple(labels)
