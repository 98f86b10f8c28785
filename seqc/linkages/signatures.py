"""What the cells of a machine's grid want of its selectors, glyph by glyph."""

from __future__ import annotations

from collections.abc import Sequence

from seqc.linkages.question import FREE, Design, Labels, Wants, numbered
from seqc.machine.glyphs import Glyph
from seqc.machine.lane_graph import routes_through
from seqc.machine.parts import Feed, Lane, Part, Position


def comes_one_way(lane: Lane) -> bool:
    """Whether each kind comes by one route to each cell that has it."""
    every = (routes_through(feed) for feed in lane.feeds)
    return all(len(routes) == 1 for found in every for routes in found.values())


def wants_of(lane: Lane, glyphs: Sequence[Glyph], reserve: Sequence[Glyph] = ()) -> Wants:
    """The wants of the cells for some glyphs, and for others that need only be within reach.

    Of several routes to a kind the first counts.
    """
    every = [*glyphs, *(glyph for glyph in reserve if glyph not in glyphs)]
    held = [_first_route(feed) for feed in lane.feeds]

    def masks(part: Part, position: Position) -> Labels:
        return tuple(
            sum(
                (own.get((glyph.kinds[cell], part.name)) is position) << number
                for number, glyph in enumerate(every)
            )
            for cell, own in enumerate(held)
        )

    rest = tuple(masks(part, Position.REST) for part in lane.selectors)
    thrown = tuple(masks(part, Position.THROWN) for part in lane.selectors)
    return Wants(rest, thrown, (1 << len(glyphs)) - 1)


def _first_route(feed: Feed) -> dict[tuple[str, str], Position]:
    """By kind and selector, its position on the first route to the kind."""
    return {
        (kind, selector.name): position
        for kind, (first, *_) in routes_through(feed).items()
        for selector, position in first
    }


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
