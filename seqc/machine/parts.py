"""What a machine is made of: items, grids, linkages, selectors, gates, paths and lanes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
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

    def groups(self, grid: Grid) -> dict[str, tuple[Cell, ...]]:
        """The cells that move together, by label: columns from the left, others from the top."""
        groups: dict[str, list[Cell]] = {}
        by_column = self.kind is LinkageKind.COLUMN
        order = sorted(grid.cells, key=lambda cell: (cell.column, cell.row))
        for cell in order if by_column else grid.cells:
            groups.setdefault(self.label(cell), []).append(cell)
        return {label: tuple(cells) for label, cells in groups.items()}

    def __str__(self) -> str:
        return self.kind.value


@dataclass(frozen=True, slots=True)
class Selector:
    """A two-position part that offers one of two inputs; settled `settle_us` after it moved."""

    name: str
    linkage: Linkage
    coil: Coil
    settle_us: int = 0
    place: Place = NOWHERE
    settle_tolerance: Tolerance = EXACT

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

    @property
    def total_us(self) -> int:
        """The nominal time from the settled gate to the item at rest."""
        return self.fall_us + self.settle_us


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
    """

    grid: Grid
    feed: Feed
    gates: tuple[Gate, ...]
    gates_above: int
    paths: tuple[Path, ...]
    place: Place = NOWHERE

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
        """Every selector of the feed, each before those that it offers."""
        return tuple(node.selector for node in walk_feed(self.feed) if isinstance(node, Branch))

    @cached_property
    def items(self) -> tuple[Item, ...]:
        """Every kind that the feed offers, without repeats, in the order of the declaration."""
        leaves = (node for node in walk_feed(self.feed) if isinstance(node, Item))
        return tuple({item.name: item for item in leaves}.values())


def walk_feed(feed: Feed) -> Iterator[Feed]:
    """Every node of a feed, parents first, the input at rest before the one thrown."""
    waiting = [feed]
    while waiting:
        node = waiting.pop()
        yield node
        if isinstance(node, Branch):
            waiting += [node.thrown, node.rest]
