"""Machines built in code, so that a test of one stage needs no other stage."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence

from seqc.machine.electrics import Bus, Coil, Drive, DriveKind, Relay, Supply
from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import (
    SHOWN,
    Branch,
    Cell,
    Feed,
    Gate,
    Grid,
    Item,
    Lane,
    Linkage,
    LinkageKind,
    Part,
    Path,
    Selector,
)
from seqc.machine.steptable import TablesFor
from seqc.machine.wiring import groups_of, wired

ROW = Linkage(LinkageKind.ROW)
COLUMN = Linkage(LinkageKind.COLUMN)
CELL = Linkage(LinkageKind.CELL)
GRID = Linkage(LinkageKind.GRID)

SHOWING = tuple(one for one in TablesFor if one is not TablesFor.COMMISSIONING)
"""What tables of a programme can be for."""

OWN_WIRES = tuple(kind for kind in DriveKind if kind is not DriveKind.MATRIX)
"""Drives whose coils share no switches; `test_matrix.py` is about the one whose coils do."""

KINDS = ("slate", "chalk", "amber", "moss")
SMALL = Coil("small", 12_000, 8_200, 40_000, 80_000, 18_000, 9_000, 60_000)
LARGE = Coil("large", 12_000, 5_600, 60_000, 120_000, 25_000, 14_000, 90_000)
CARD = Relay("card", 10_000, 6_000, 100_000, 10_000_000, has_diode=True)


def letters(*rows: str) -> Linkage:
    """A linkage by a letter map."""
    return Linkage(LinkageKind.MAP, rows)


def grid_of(rows: int, columns: int, absent: Iterable[Cell] = (), name: str = "numeral") -> Grid:
    """A grid with all cells but the absent ones."""
    cells = [Cell(r, c) for r in range(1, rows + 1) for c in range(1, columns + 1)]
    gone = set(absent)
    return Grid(name, rows, columns, tuple(cell for cell in cells if cell not in gone))


def chain_feed(items: Sequence[Item], linkages: Sequence[Linkage]) -> Feed:
    """Nested selectors `pick1(item1, pick2(item2, ...))`, one linkage for each selector."""
    feed: Feed = items[-1]
    for depth in range(len(items) - 1, 0, -1):
        selector = Selector(f"pick{depth}", linkages[depth - 1], SMALL, 10_000)
        feed = Branch(selector, items[depth - 1], feed)
    return feed


def board(
    grids: Sequence[Grid],
    *,
    kinds: int = 2,
    selectors: Sequence[Linkage] = (ROW,),
    gates: Mapping[str, Linkage] | None = None,
    dumps: int = 0,
    feed: Feed | None = None,
    kind: DriveKind = DriveKind.CHANGEOVER_PAIR,
    limit_ua: int = 8_000_000,
    active_low: bool = True,
    fall_us: int = 300_000,
    stock: int | None = 1_000,
    pulse_switch: bool = False,
    others: tuple[tuple[Feed, frozenset[Cell]], ...] = (),
) -> Machine:
    """A machine of one lane a grid, all alike; `others` feed some cells in place of `feed`.

    `gates` go from the top (metering) to the bottom, by name; the last `dumps` of them are below
    the place that is seen. `selectors` has a linkage for each of the `kinds - 1` nested selectors.
    """
    items = tuple(Item(name, stock=stock) for name in KINDS[:kinds])
    feed = feed or chain_feed(items, tuple(selectors) * (1 if len(selectors) > 1 else kinds - 1))
    chosen = gates or {"drop": COLUMN, "swap": GRID}
    stations = tuple(
        Gate(name, link, LARGE if rank else SMALL, 60_000, 70_000)
        for rank, (name, link) in enumerate(chosen.items())
    )
    above = len(stations) - dumps
    names = [gate.name for gate in stations[:above]] + [SHOWN]
    paths = tuple(Path(*pair, fall_us, 20_000) for pair in itertools.pairwise(names))
    lanes = tuple(Lane(grid, feed, stations, above, paths, others=others) for grid in grids)
    return _wired_machine(items, lanes, kind, limit_ua, active_low, pulse_switch)


def outputs_of(kind: DriveKind, counts: Mapping[str, int]) -> tuple[dict[str, Sequence[int]], int]:
    """The outputs of each part's actuators, one after the other, and how many there are."""
    numbers = itertools.count()
    if kind is DriveKind.MATRIX:
        return _crossings(counts, numbers)
    each = kind.outputs_per_actuator
    own = {part: [next(numbers) for _ in range(each * count)] for part, count in counts.items()}
    return dict(own), next(numbers)


def _crossings(
    counts: Mapping[str, int], numbers: Iterator[int]
) -> tuple[dict[str, Sequence[int]], int]:
    """A matrix of three columns: high and low switch of each row, then of each column."""
    rows = -(-sum(counts.values()) // 3)
    first = 2 * rows
    found: dict[str, Sequence[int]] = {}
    for part, count in counts.items():
        at = [divmod(next(numbers), 3) for _ in range(count)]
        found[part] = [
            output
            for row, column in at
            for output in (2 * row, first + 2 * column + 1, 2 * row + 1, first + 2 * column)
        ]
    return found, first + 6


def _wired_machine(
    items: tuple[Item, ...],
    lanes: tuple[Lane, ...],
    kind: DriveKind,
    limit: int,
    low: bool,
    pulse_switch: bool,
) -> Machine:
    parts: tuple[Part, ...] = (*lanes[0].selectors, *lanes[0].gates)
    groups = groups_of(parts, lanes)
    counts = {part: len(members) for part, members in groups.items()}
    outputs, first = outputs_of(kind, counts)
    pulse_switch = pulse_switch and kind is not DriveKind.MATRIX
    supply = Supply("bench", 12_000, limit, 200_000)
    relay = None if kind.is_solid_state else CARD
    reverser = first if kind is DriveKind.SHARED_REVERSER else None
    first += reverser is not None
    switch = first if pulse_switch else None
    first += pulse_switch
    drive = Drive(kind, tuple(groups), supply, relay, 0 if relay else 100, reverser, switch)
    bus = Bus("bus", first, shift_register=True, active_low=low)
    actuators = wired(groups, dict.fromkeys(groups, drive), outputs)
    return Machine(
        "test_board",
        items,
        lanes,
        lanes[0].selectors,
        lanes[0].gates,
        actuators,
        (bus,),
        (supply,),
    )


def glyph(grid: Grid, *rows: str, name: str = "x", kinds: Sequence[str] = KINDS) -> Glyph:
    """A glyph drawn with digits: 0 is the first kind, 1 the second, anything in an absent cell."""
    chosen = tuple(kinds[int(rows[cell.row - 1][cell.column - 1])] for cell in grid.cells)
    return Glyph(name, "hand", grid.name, chosen)
