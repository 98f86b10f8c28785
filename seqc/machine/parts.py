"""What a machine is made of: items, grids, linkages, selectors, gates, paths and lanes."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from functools import cached_property
from typing import NamedTuple

from seqc.machine.electrics import Coil
from seqc.machine.findings import NOWHERE, Place
from seqc.machine.motion import Slope
from seqc.machine.pull import Ball
from seqc.machine.span import EXACT, Span, Tolerance


class Position(Enum):
    """One of the two places where a latching actuator stays without current."""

    REST = "rest"
    THROWN = "thrown"


@dataclass(frozen=True, slots=True)
class Item:
    """A kind of loose piece; `tone` is how it looks, `stock` how many there are in all.

    A used item is back in its magazine `recirculate_us` after it has left its cell; None if it is
    used up. `bounce_ppm` is the share of its speed that it keeps when it bounces. With the
    chance `misfeed` it doesn't come when its metering gate lets it go.
    """

    name: str
    tone: str = ""
    stock: int | None = None
    diameter_um: int | None = None
    place: Place = NOWHERE
    recirculate_us: int | None = None
    mass_mg: int | None = None
    bounce_ppm: int | None = None
    misfeed: float = 0.0
    is_steel: bool = False

    @property
    def ball(self) -> Ball | None:
        """It as a sphere in air, where mass and diameter are known."""
        if self.mass_mg is None or self.diameter_um is None:
            return None
        return Ball(self.mass_mg, self.diameter_um)


class Cell(NamedTuple):
    """A place of the picture; rows count from the top, columns from the left, both from 1."""

    row: int
    column: int

    def __str__(self) -> str:
        return f"row {self.row} column {self.column}"


@dataclass(frozen=True)
class Grid:
    """A picture of `rows` by `columns`; `cells` are those that are not absent, row by row."""

    name: str
    rows: int
    columns: int
    cells: tuple[Cell, ...]
    place: Place = NOWHERE

    @cached_property
    def index_of(self) -> dict[Cell, int]:
        """The position of each cell in `cells`."""
        return {cell: index for index, cell in enumerate(self.cells)}


class LinkageKind(Enum):
    """Which cells of a grid one actuator moves together."""

    ROW = "per row"
    COLUMN = "per column"
    CELL = "per cell"
    GRID = "whole grid"
    MAP = "map"


@dataclass(frozen=True, slots=True)
class Linkage:
    """The mechanical tie of a part; `letters` are the rows of the letter map where kind is MAP."""

    kind: LinkageKind
    letters: tuple[str, ...] = ()
    place: Place = NOWHERE

    def label(self, cell: Cell) -> str:
        """The group that holds the cell: `r3`, `c2`, `r3c2`, a letter, or nothing for the grid."""
        match self.kind:
            case LinkageKind.ROW:
                return f"r{cell.row}"
            case LinkageKind.COLUMN:
                return f"c{cell.column}"
            case LinkageKind.CELL:
                return f"r{cell.row}c{cell.column}"
            case LinkageKind.GRID:
                return ""
            case LinkageKind.MAP:
                return self.letters[cell.row - 1][cell.column - 1]

    def groups(self, cells: Sequence[Cell]) -> dict[str, tuple[Cell, ...]]:
        """Which of some cells move together, by label: columns from the left, others from the top.

        The cells are given row by row.
        """
        groups: dict[str, list[Cell]] = {}
        by_column = self.kind is LinkageKind.COLUMN
        order = sorted(cells, key=lambda cell: (cell.column, cell.row))
        for cell in order if by_column else cells:
            groups.setdefault(self.label(cell), []).append(cell)
        return {label: tuple(cells) for label, cells in groups.items()}

    def __str__(self) -> str:
        return self.kind.value


@dataclass(frozen=True, slots=True)
class Selector:
    """A two-position part that offers one of two inputs; settled `settle_us` after it moved.

    In `mirrored` cells it is mounted the other way round, and offers its second input at rest.
    """

    name: str
    linkage: Linkage
    coil: Coil
    settle_us: int = 0
    place: Place = NOWHERE
    settle_tolerance: Tolerance = EXACT
    mirrored: frozenset[Cell] = frozenset()

    @property
    def settle(self) -> Span:
        """From the end of its motion until it is settled."""
        return self.settle_tolerance.of(self.settle_us)


@dataclass(frozen=True, slots=True)
class Gate:
    """A two-position part that lets one item through a cycle.

    It stays thrown `open_us` or more after it has settled thrown, and may be thrown again
    `refill_us` after it has settled at rest. It is settled `settle_us` after it moved. With the
    chance `misfeed` an item stays above it although it is cycled.
    """

    name: str
    linkage: Linkage
    coil: Coil
    open_us: int
    refill_us: int = 0
    settle_us: int = 0
    place: Place = NOWHERE
    settle_tolerance: Tolerance = EXACT
    misfeed: float = 0.0

    @property
    def settle(self) -> Span:
        """From the end of its motion until it is settled."""
        return self.settle_tolerance.of(self.settle_us)


Part = Selector | Gate

SHOWN = "shown"


@dataclass(frozen=True, slots=True)
class Path:
    """The way from a gate to the next gate, or to the place that is seen (`SHOWN`).

    An item arrives `fall_us` after the gate has settled thrown and lies still `settle_us` later.
    `course` tells how the time was given, in words; `slope` is the one of the slowest item where
    items roll, and then the least of `fall` is that of the quickest. A computed time `is_ideal`
    where nothing is told of what makes real items slower.
    """

    source: str
    target: str
    fall_us: int
    settle_us: int = 0
    course: str = ""
    slope: Slope | None = None
    place: Place = NOWHERE
    fall_tolerance: Tolerance = EXACT
    settle_tolerance: Tolerance = EXACT
    is_ideal: bool = False

    @property
    def fall(self) -> Span:
        """From the settled gate to the item's arrival."""
        return self.fall_tolerance.of(self.fall_us)

    @property
    def settle(self) -> Span:
        """From the item's arrival until it lies still."""
        return self.settle_tolerance.of(self.settle_us)

    @property
    def total(self) -> Span:
        """From the settled gate to the item at rest."""
        return self.fall + self.settle


@dataclass(frozen=True, slots=True)
class Branch:
    """A selector and what it offers in each of its positions."""

    selector: Selector
    rest: Feed
    thrown: Feed


Feed = Item | Branch


@dataclass(frozen=True)
class Lane:
    """The way of every cell of one grid, from its magazines down to the place that is seen.

    `gates` run from the top (the metering gate) to the bottom; `gates_above` of them stand above
    the place that is seen, the others below it. `paths` has the path after each gate above it.
    `feed` is as it was declared, and `others` has what feeds some cells in its place: ask `feed_of`
    for that of a cell.
    """

    grid: Grid
    feed: Feed
    gates: tuple[Gate, ...]
    gates_above: int
    paths: tuple[Path, ...]
    place: Place = NOWHERE
    others: tuple[tuple[Feed, frozenset[Cell]], ...] = ()

    @cached_property
    def feeds(self) -> tuple[Feed, ...]:
        """What feeds each cell, in their order, with the selectors as they are mounted there.

        Cells whose feeds are alike share one.
        """
        if not self.others and not any(each.mirrored for each in self.selectors):
            return (self.feed,) * len(self.grid.cells)
        known: dict[tuple[int, frozenset[str]], Feed] = {}
        return tuple(self._mounted(cell, known) for cell in self.grid.cells)

    def _mounted(self, cell: Cell, known: dict[tuple[int, frozenset[str]], Feed]) -> Feed:
        declared = next((feed for feed, cells in self.others if cell in cells), self.feed)
        selectors = selectors_of(declared)
        turned = frozenset(each.name for each in selectors if cell in each.mirrored)
        if not turned:
            return declared

        def branch(selector: Selector, first: Feed, second: Feed) -> Branch:
            inputs = (second, first) if selector.name in turned else (first, second)
            return Branch(selector, *inputs)

        return known.setdefault((id(declared), turned), remade(declared, branch))

    def feed_of(self, cell: Cell) -> Feed:
        """What feeds a cell, with the selectors as they are mounted there."""
        return self.feeds[self.grid.index_of[cell]]

    @cached_property
    def different_feeds(self) -> tuple[tuple[Feed, tuple[Cell, ...]], ...]:
        """Each feed with the cells that are fed so, in the order of their first cells."""
        found: dict[int, tuple[Feed, list[Cell]]] = {}
        for cell, feed in zip(self.grid.cells, self.feeds, strict=True):
            found.setdefault(id(feed), (feed, []))[1].append(cell)
        return tuple((feed, tuple(cells)) for feed, cells in found.values())

    def cells_of(self, part: Part) -> tuple[Cell, ...]:
        """The cells in whose lane a part stands."""
        if not self.others or part in self.gates:
            return self.grid.cells
        has = {id(feed): part in selectors_of(feed) for feed in self.feeds}
        cells = zip(self.grid.cells, self.feeds, strict=True)
        return tuple(cell for cell, feed in cells if has[id(feed)])

    def cells_with(self, item: Item) -> tuple[Cell, ...]:
        """The cells above which a magazine of some kind stands."""
        has = {id(feed): item in items_of(feed) for feed in self.feeds}
        cells = zip(self.grid.cells, self.feeds, strict=True)
        return tuple(cell for cell, feed in cells if has[id(feed)])

    def with_selectors(self, change: Callable[[Selector], Selector]) -> Lane:
        """The lane with every selector changed."""

        def branch(selector: Selector, rest: Feed, thrown: Feed) -> Branch:
            return Branch(change(selector), rest, thrown)

        others = tuple((remade(feed, branch), cells) for feed, cells in self.others)
        return replace(self, feed=remade(self.feed, branch), others=others)

    @property
    def metering(self) -> Gate:
        """The gate next to the selectors."""
        return self.gates[0]

    @property
    def transfers(self) -> tuple[Gate, ...]:
        """The further gates above the place that is seen, from the top."""
        return self.gates[1 : self.gates_above]

    @property
    def dumps(self) -> tuple[Gate, ...]:
        """The gates below the place that is seen, which let the old set go first."""
        return self.gates[self.gates_above :]

    @cached_property
    def selectors(self) -> tuple[Selector, ...]:
        """Every selector of the feeds, each before those that it offers."""
        every = [self.feed, *(feed for feed, _ in self.others)]
        named = {each.name: each for feed in every for each in selectors_of(feed)}
        return tuple(named.values())

    @cached_property
    def items(self) -> tuple[Item, ...]:
        """Every kind that is offered, without repeats, in the order of the declaration."""
        every = [self.feed, *(feed for feed, _ in self.others)]
        return tuple({item.name: item for feed in every for item in items_of(feed)}.values())


def walk_feed(feed: Feed) -> Iterator[Feed]:
    """Every node of a feed, parents first, the input at rest before the one thrown."""
    waiting = [feed]
    while waiting:
        node = waiting.pop()
        yield node
        if isinstance(node, Branch):
            waiting += [node.thrown, node.rest]


def selectors_of(feed: Feed) -> tuple[Selector, ...]:
    """Every selector of a feed, each before those that it offers."""
    return tuple(node.selector for node in walk_feed(feed) if isinstance(node, Branch))


def items_of(feed: Feed) -> tuple[Item, ...]:
    """Every kind that a feed offers, without repeats, that at rest first."""
    leaves = (node for node in walk_feed(feed) if isinstance(node, Item))
    return tuple({item.name: item for item in leaves}.values())


def remade(feed: Feed, branch: Callable[[Selector, Feed, Feed], Branch]) -> Feed:
    """A feed with each branch made anew of its selector and what it offers at rest and thrown."""
    made: dict[int, Feed] = {}
    for node in reversed(list(walk_feed(feed))):
        made[id(node)] = node
        if isinstance(node, Branch):
            made[id(node)] = branch(node.selector, made[id(node.rest)], made[id(node.thrown)])
    return made[id(feed)]
