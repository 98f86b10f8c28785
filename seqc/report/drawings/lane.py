"""The lane of a cell, from its magazines down to the place that is seen, drawn as it hangs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple
from xml.etree.ElementTree import Element

from seqc.machine.model import Machine
from seqc.machine.parts import Branch, Feed, Gate, Item, Lane, items_of
from seqc.machine.wording import amount_of
from seqc.report.drawings.svg import Drawing, drawing, stacked, tag, write
from seqc.report.drawings.tones import draw_items, looks_of
from seqc.report.words import ms

STEP, ACROSS, TOP, BOX = 62, 96, 26, 22
LEAST_NOTES, LETTER = 110, 6.0


class Spot(NamedTuple):
    """A node of the feed where it is drawn: in units across, and how deep it lies."""

    feed: Feed
    x: float
    depth: int
    parent: int | None
    position: str


def spots_of(feed: Feed) -> list[Spot]:
    """The nodes of a feed, inputs at rest left of those thrown, each above its own middle."""
    order: list[tuple[Feed, int, int | None, str]] = []
    waiting: list[tuple[Feed, int, int | None, str]] = [(feed, 0, None, "")]
    while waiting:
        node, depth, parent, position = waiting.pop()
        own = len(order)
        order.append((node, depth, parent, position))
        if isinstance(node, Branch):
            waiting.append((node.thrown, depth + 1, own, "thrown"))
            waiting.append((node.rest, depth + 1, own, "rest"))
    x = [0.0] * len(order)
    leaves = 0
    for number, (node, *_) in enumerate(order):
        if isinstance(node, Item):
            x[number] = float(leaves)
            leaves += 1
    for number in range(len(order) - 1, -1, -1):
        inputs = [x[child] for child, (_, _, up, _) in enumerate(order) if up == number]
        if inputs:
            x[number] = sum(inputs) / len(inputs)
    rows = zip(order, x, strict=True)
    return [Spot(node, at, depth, parent, position) for (node, depth, parent, position), at in rows]


def lane_drawing(machine: Machine, lane: Lane) -> Drawing:
    """A lane with its selectors, gates and paths; one for each way in which cells are fed."""
    title = f"lane of {lane.grid.name}"
    feeds = lane.different_feeds
    if len(feeds) == 1:
        return _fed(machine, lane, lane.feeds[0], title)
    return stacked(
        title,
        [
            _fed(machine, lane, feed, f"{title}, {amount_of(len(cells), 'cell')}")
            for feed, cells in feeds
        ],
    )


def _fed(machine: Machine, lane: Lane, feed: Feed, title: str) -> Drawing:
    """The lane of the cells that are fed so, with the times beside it."""
    spots = spots_of(feed)
    deepest = max(spot.depth for spot in spots)
    leaves = sum(isinstance(spot.feed, Item) for spot in spots)
    stations = list(_stations(lane))
    longest = max(len(note) for _, note in stations)
    middle = ACROSS / 2 + spots[0].x * ACROSS
    wide = max(leaves * ACROSS + LEAST_NOTES, middle + 24 + LETTER * longest)
    high = TOP * 2 + STEP * (deepest + len(stations)) + 14
    told = f"from {', '.join(item.name for item in items_of(feed))} to the place that is seen"
    sheet = drawing(wide, high, title, told)
    at = [(ACROSS / 2 + spot.x * ACROSS, TOP + STEP * (deepest - spot.depth)) for spot in spots]
    looks = looks_of(machine)
    for spot, (x, y) in zip(spots, at, strict=True):
        if spot.parent is not None:
            px, py = at[spot.parent]
            tag(sheet.root, "path", "way", d=f"M{x:g} {y:g}L{px:g} {py - 8:g}")
            side, kind = (8, "small faint") if x >= px else (-8, "small faint end")
            write(sheet.root, (x + px) / 2 + side, (y + py) / 2 + 4, spot.position, kind)
    for spot, (x, y) in zip(spots, at, strict=True):
        if isinstance(spot.feed, Item):
            group = tag(sheet.root, "g", transform=f"translate({x - 12:g} {y - 12:g}) scale(24)")
            draw_items(group, looks, [(0.5, 0.5, spot.feed.name)])
            write(sheet.root, x + 16, y + 4, spot.feed.name, "small")
        else:
            _selector(sheet.root, spot.feed, x, y)
    x, y = at[0][0], TOP + STEP * deepest
    for number, (what, note) in enumerate(stations, 1):
        below = y + STEP * number
        tag(sheet.root, "path", "way", d=f"M{x:g} {below - STEP + 11:g}V{below - 11:g}")
        _station(sheet.root, what, note, x, below)
    return sheet


def _stations(lane: Lane) -> Iterator[tuple[Gate | None, str]]:
    """Every gate below the selectors, and the place that is seen among them, with what to note."""
    for number, gate in enumerate(lane.gates):
        if number == lane.gates_above:
            yield None, ""
        words = f"{gate.name}: open {ms(gate.open_us)}"
        words += f", refill {ms(gate.refill_us)}" if gate.refill_us else ""
        if number < lane.gates_above:
            path = lane.paths[number]
            words += f"; then {ms(path.fall_us)} to {path.target}"
            words += f" and {ms(path.settle_us)} to settle" if path.settle_us else ""
        yield gate, words
    if lane.gates_above == len(lane.gates):
        yield None, ""


def _selector(root: Element, branch: Branch, x: float, y: float) -> None:
    tag(root, "path", "station", d=f"M{x - 14:g} {y - 9:g}h28l-9 18h-10z")
    settle = f", settles {ms(branch.selector.settle_us)}" if branch.selector.settle_us else ""
    write(root, x + 20, y + 4, f"{branch.selector.name}{settle}", "small")


def _station(root: Element, gate: Gate | None, note: str, x: float, y: float) -> None:
    if gate is None:
        tag(root, "circle", "dot", cx=x, cy=y, r=11)
        tag(root, "circle", "knot", cx=x, cy=y, r=4)
        write(root, x + 20, y + 4, "shown: the place that is seen", "small strong")
        return
    tag(root, "path", "station", d=f"M{x - 16:g} {y - 4:g}h32v8h-32z")
    write(root, x + 20, y + 4, note, "small")
