"""Random machines and glyphs: from a seed, and as Hypothesis strategies."""

from __future__ import annotations

from dataclasses import dataclass, replace
from random import Random

from boards import CELL, COLUMN, GRID, KINDS, ROW, SMALL, board, letters
from feeds import declared, inputs
from hypothesis import strategies as st

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import (
    Branch,
    Cell,
    Feed,
    Grid,
    Item,
    Linkage,
    Selector,
    items_of,
    remade,
    walk_feed,
)

PLAIN = (ROW, COLUMN, GRID, CELL)


@dataclass(frozen=True)
class Limits:
    """How large and how various a random machine may be."""

    rows: int = 4
    columns: int = 5
    kinds: int = 4
    routes: int = 5
    transfers: int = 2
    dumps: int = 1
    absent: bool = True
    maps: bool = True
    lively: bool = False
    """Whether the linkages are such that a load takes many passes."""
    mixed: bool = False
    """Whether some cells are fed otherwise, or have selectors mounted the other way round."""


def random_grid(random: Random, limits: Limits, name: str = "numeral") -> Grid:
    """A grid with at least one cell, a few of the others absent."""
    fewest = (limits.rows - 1, limits.columns - 1) if limits.lively else (1, 1)
    rows, columns = (
        random.randint(fewest[0], limits.rows),
        random.randint(fewest[1], limits.columns),
    )
    cells = [Cell(r, c) for r in range(1, rows + 1) for c in range(1, columns + 1)]
    gone = random.choice((0, 0, 0.2, 0.5)) if limits.absent else 0
    kept = [cell for cell in cells if random.random() >= gone]
    return Grid(name, rows, columns, tuple(kept or cells[:1]))


def random_linkage(random: Random, grid: Grid, limits: Limits) -> Linkage:
    """Any of the five linkages; in a lively machine those with a few groups only."""
    plain = (ROW, ROW, COLUMN) if limits.lively else PLAIN
    chosen = random.randrange(len(plain) + limits.maps)
    if chosen < len(plain):
        return plain[chosen]
    return letters(*_letters(random, grid, 4))


def _letters(random: Random, grid: Grid, count: int) -> list[str]:
    present = set(grid.cells)
    return [
        "".join(
            random.choice("abcdefgh"[:count]) if Cell(row, column) in present else "-"
            for column in range(1, grid.columns + 1)
        )
        for row in range(1, grid.rows + 1)
    ]


def random_feed(random: Random, grid: Grid, limits: Limits) -> tuple[Feed, int]:
    """A tree of selectors, each a part of its own, and how many kinds it offers.

    Some kinds come by several routes.
    """
    kinds = random.randint(2, limits.kinds)
    more = random.choice((0, 0, 1, 2))
    feeds: list[Feed] = [Item(name, stock=1_000) for name in KINDS[:kinds]]
    feeds += [random.choice(feeds) for _ in range(max(0, min(more, limits.routes - kinds)))]
    random.shuffle(feeds)
    number = 0
    while len(feeds) > 1:
        number += 1
        first, second = (feeds.pop(random.randrange(len(feeds))) for _ in range(2))
        linkage = random_linkage(random, grid, limits)
        feeds.append(Branch(Selector(f"pick{number}", linkage, SMALL, 10_000), first, second))
    return feeds[0], kinds


def random_machine(random: Random, limits: Limits | None = None) -> Machine:
    """A machine with one grid."""
    limits = limits or Limits()
    grid = random_grid(random, limits)
    feed, kinds = random_feed(random, grid, limits)
    dumps = random.randint(0, limits.dumps)
    names = ["drop", "swap", "pass"][: 1 + random.randint(0, limits.transfers)]
    names += ["dump"] * dumps
    gates = {name: random_linkage(random, grid, limits) for name in names}
    if limits.lively:
        gates["drop"] = random.choice((COLUMN, COLUMN, CELL, letters(*_letters(random, grid, 8))))
    others: tuple[tuple[Feed, frozenset[Cell]], ...] = ()
    if limits.mixed:
        feed = turned(random, grid, feed)
        others = random_others(random, grid, feed)
    return board([grid], kinds=kinds, feed=feed, gates=gates, dumps=dumps, others=others)


def some_cells(random: Random, grid: Grid) -> frozenset[Cell]:
    """Any of the cells, but not all of several."""
    share = random.choice((0, 0.2, 0.5))
    chosen = [cell for cell in grid.cells if random.random() < share]
    return frozenset(chosen[: len(grid.cells) - 1])


def turned(random: Random, grid: Grid, feed: Feed) -> Feed:
    """The feed, its selectors mounted the other way round in some cells."""

    def branch(selector: Selector, rest: Feed, thrown: Feed) -> Branch:
        return Branch(replace(selector, mirrored=some_cells(random, grid)), rest, thrown)

    return remade(feed, branch)


def random_others(
    random: Random, grid: Grid, feed: Feed
) -> tuple[tuple[Feed, frozenset[Cell]], ...]:
    """Cells that one kind feeds, and others that a part of the feed does."""
    constant = some_cells(random, grid)
    partial = some_cells(random, grid) - constant
    found = (
        (random.choice(items_of(feed)), constant),
        (random.choice([*walk_feed(feed)]), partial),
    )
    return tuple((own, cells) for own, cells in found if cells)


def random_glyph(random: Random, machine: Machine, name: str = "x") -> Glyph:
    """Any picture on the machine's first grid; now and then a plain one."""
    lane = machine.lanes[0]
    most = len(lane.items)
    if random.random() < 0.3:
        most = random.randint(1, most)
    offered = [items_of(declared(lane, cell))[:most] for cell in lane.grid.cells]
    kinds = tuple(random.choice(items).name for items in offered)
    return Glyph(name, "random", lane.grid.name, kinds)


def altered_glyph(random: Random, machine: Machine, glyph: Glyph, name: str = "y") -> Glyph:
    """The glyph with a few cells changed."""
    kinds = [item.name for item in machine.lanes[0].items]
    changed = [random.choice(kinds) if random.random() < 0.15 else kind for kind in glyph.kinds]
    return Glyph(name, glyph.font, glyph.grid, tuple(changed))


def loadable_glyph(random: Random, machine: Machine, name: str = "x") -> Glyph:
    """A picture that can be loaded: each metering group takes what some positions offer it."""
    lane = machine.lanes[0]
    kinds: dict[Cell, str] = {}
    for group in machine.actuators_of(lane.metering, lane.grid):
        thrown = {a.index: random.random() < 0.5 for a in machine.actuators}
        for cell in group.cells:
            feed = declared(lane, cell)
            while isinstance(feed, Branch):
                at = thrown[machine.actuator_of(feed.selector, lane.grid, cell).index]
                feed = inputs(feed, cell)[at]
            kinds[cell] = feed.name
    return Glyph(name, "random", lane.grid.name, tuple(kinds[cell] for cell in lane.grid.cells))


def partly(random: Random, machine: Machine, old: Glyph, other: Glyph) -> Glyph:
    """The old glyph with some metering groups taken from the other."""
    lane = machine.lanes[0]
    kinds = list(old.kinds)
    for group in machine.actuators_of(lane.metering, lane.grid):
        if random.random() < 0.5:
            for cell in group.cells:
                kinds[lane.grid.index_of[cell]] = other.kinds[lane.grid.index_of[cell]]
    return Glyph("new", old.font, old.grid, tuple(kinds))


def machines(limits: Limits | None = None) -> st.SearchStrategy[Machine]:
    """Machines with one grid of up to 4 by 5 cells."""
    randoms = st.randoms(use_true_random=False)
    return randoms.map(lambda random: random_machine(random, limits))


def machines_with_glyph(
    limits: Limits | None = None, *, loadable: bool = True
) -> st.SearchStrategy[tuple[Machine, Glyph]]:
    """A machine and a picture for it, which it can load unless `loadable` is false."""
    choose = loadable_glyph if loadable else random_glyph

    def drawn(random: Random) -> tuple[Machine, Glyph]:
        machine = random_machine(random, limits)
        return machine, choose(random, machine)

    return st.randoms(use_true_random=False).map(drawn)
