"""Machines as a maker would have them, drawn at random from a seed and written in the language.

Numerals and pictures of 3 by 3 to 24 by 24 cells with two to four kinds: selectors tied along one
way and gates along the other, a gate for each cell on small boards, mirrored gates under mirrored
pictures, corners or single cells absent, every drive, supplies from ample to scarce, one to ten
frames shown once or in a round.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from random import Random

MACHINES = 48
KINDS = ("slate", "chalk", "amber", "moss")
MARKS = "#.o~"
SHAPES = (
    *((3, 3), (3, 5), (4, 6), (5, 7), (4, 7), (6, 8), (8, 8), (8, 8)),
    *((10, 6), (8, 12), (12, 8), (12, 12), (16, 8), (16, 16), (20, 16), (24, 24)),
)
"""Columns and rows."""

ELECTRICS = """\
coil small { 12 V 15 ohm 9 mH pulse 30 ms travel 16 ms minimum off 30 ms max pulse 60 ms }
coil large { 12 V 8.2 ohm 14 mH pulse 40 ms travel 24 ms minimum off 40 ms max pulse 80 ms }
relay card { operate 8 ms release 5 ms }
"""


@dataclass(frozen=True)
class Style:
    """What was chosen for one machine; `mirrored` columns share their gates."""

    columns: int
    rows: int
    kinds: int
    absent: frozenset[tuple[int, int]]
    turned: bool
    gates: str
    drive: str
    limit_a: float
    frames: int
    repeat: bool
    random_cells: bool


def plausible_machine(seed: int) -> str:
    """The text of machine number `seed`; sizes come in turn, the rest is drawn."""
    random = Random(f"plausible {seed}")
    style = _style(random, *SHAPES[seed % len(SHAPES)])
    return "\n".join((f"machine plausible_{seed}", *_parts(style), *_shows(random, style)))


def _style(random: Random, columns: int, rows: int) -> Style:
    cells = columns * rows
    kinds = random.choice((2, 2, 3, 3, 4))
    single = cells <= 15 and random.random() < 0.6
    gates = "cell" if single else random.choice(("line", "line", "line", "mirror"))
    drive = random.choice(("changeover pair", "bridge", "bridge", "shared reverser"))
    return Style(
        columns,
        rows,
        kinds,
        _absent(random, columns, rows) if gates != "mirror" else frozenset(),
        turned=gates != "mirror" and random.random() < 0.2,
        gates=gates,
        drive=drive,
        limit_a=random.choice((3, 4, 8, 0.8 * max(rows, columns) + 3)),
        frames=random.choice((1, 3, 6, 10)),
        repeat=random.random() < 0.7,
        random_cells=random.random() < 0.25,
    )


def _absent(random: Random, columns: int, rows: int) -> frozenset[tuple[int, int]]:
    places = [(row, column) for row in range(rows) for column in range(columns)]
    chance = random.random()
    if chance < 0.7 or len(places) < 12:
        return frozenset()
    if chance < 0.85:
        return frozenset((row, column) for row in (0, rows - 1) for column in (0, columns - 1))
    return frozenset(place for place in places if random.random() < 0.1)


def _parts(style: Style) -> list[str]:
    selectors, gates = ("per column", "per row") if style.turned else ("per row", "per column")
    feed, names = _feed(style.kinds)
    rows = _rows(style, lambda row, column: "-" if (row, column) in style.absent else "#")
    shape = f" shape {{ {rows} }}" if style.absent else ""
    return [
        *(f"item {kind} {{ tone dark diameter 8 mm }}" for kind in KINDS[: style.kinds]),
        f"grid face {{ columns {style.columns} rows {style.rows}{shape} }}",
        f"lane face = shown <- swap <- drop <- {feed}",
        *(f"selector {name} {{ {selectors} coil small settle 8 ms }}" for name in names),
        f"gate drop {{ {_gates(style, gates)} coil small open 45 ms refill 60 ms }}",
        "gate swap { whole grid coil large open 70 ms }",
        "path drop -> swap { roll 60 mm at 12 deg }",
        "path swap -> shown { roll 35 mm at 11 deg settle 90 ms }",
        ELECTRICS,
        "outputs bus { bits 1024 shift register active low }",
        f"drive {', '.join(names)}, drop, swap {{ {_drive(style.drive)} from bus }}",
        f"supply bench {{ 12 V limit {style.limit_a:g} A margin 20 % }}",
    ]


def _feed(kinds: int) -> tuple[str, list[str]]:
    if kinds == 4:
        return "side(shade(slate, chalk), tint(amber, moss))", ["side", "shade", "tint"]
    if kinds == 3:
        return "pick(slate, tint(chalk, amber))", ["pick", "tint"]
    return "pick(slate, chalk)", ["pick"]


def _gates(style: Style, line: str) -> str:
    if style.gates == "cell":
        return "per cell"
    if style.gates == "mirror":
        last = style.columns - 1
        rows = _rows(style, lambda _, column: "abcdefghijklmnop"[min(column, last - column)])
        return f"map {{ {rows} }}"
    return line


def _drive(kind: str) -> str:
    return "bridge dead time 1 ms" if kind == "bridge" else f"{kind} relay card"


def _rows(style: Style, mark: object) -> str:
    assert callable(mark)
    lines = ("".join(mark(r, c) for c in range(style.columns)) for r in range(style.rows))
    return " ".join(f"|{line}|" for line in lines)


def _shows(random: Random, style: Style) -> list[str]:
    marks = (f'mark "{MARKS[n]}" {KINDS[n]}' for n in range(style.kinds))
    glyphs = (_glyph(random, style, f"g{number}") for number in range(style.frames))
    text = "".join(f"{{g{number}}}" for number in range(style.frames))
    every = max(1, math.ceil(0.2 * max(style.columns, style.rows)))
    repeat = " repeat" if style.repeat else ""
    return [
        "font hand for face {",
        *marks,
        *glyphs,
        "}",
        f'programme p {{ show "{text}" every {every} s{repeat} }}',
    ]


def _glyph(random: Random, style: Style, name: str) -> str:
    """A picture of large areas, bounded by waves, or now and then of cells at random."""
    waves = [(random.uniform(0.2, 1.1), random.uniform(0.2, 1.1), random.random()) for _ in "abc"]

    def mark(row: int, column: int) -> str:
        if (row, column) in style.absent:
            return "-"
        if style.gates == "mirror":
            column = min(column, style.columns - 1 - column)
        if style.random_cells:
            return MARKS[Random(f"{waves}{row},{column}").randrange(style.kinds)]
        height = sum(math.sin(a * row + b * column + 7 * c) for a, b, c in waves)
        return MARKS[min(style.kinds - 1, int((height + 3) / 6 * style.kinds))]

    return f'glyph "{name}" {{ {_rows(style, mark)} }}'
