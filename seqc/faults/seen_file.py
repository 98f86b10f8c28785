"""Reads a file of what was seen: which frame was played, and its picture below.

```
# Numerals at the quay, seen on Sunday.
before      |####| ...          what lay there before the first frame, if anybody looked
test 2      |#.#?| ...          test frame 2; ? where nobody looked, _ for nothing there
frame "3"   |.##.| ...          a glyph of a font
picture     |####| ...          any other picture that was asked for ...
seen        |###.| ...          ... and what came of it
```

Blocks stand in the order in which frames were played, from power-on. A head may end in `on GRID`;
blocks of other grids with the same head belong to the same frame.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from seqc.faults.sight import NOT_LOOKED
from seqc.faults.trials import Look
from seqc.machine.findings import Findings, Place
from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Cell, Grid
from seqc.machine.signs import signs_of
from seqc.machine.wording import amount_of, did_you_mean, listed, quoted, shown

NOTHING = "_"
ABSENT = "-"
MOST_PLAYS = 200
MOST_BYTES = 1_000_000

HEAD = re.compile(
    r"(?P<word>[A-Za-z]+)(?:[ \t]+(?P<name>\"[^\"]*\"|\d+))?(?:[ \t]+on[ \t]+(?P<grid>[\w-]+))?"
)
ROW = re.compile(r"\|([^|]*)\|")
FORMS = 'a head is `before`, `test 1`, `frame "3"`, `picture` or `seen`, each with `on GRID` or not'


class Play(NamedTuple):
    """A frame that was played, and what was seen of it."""

    name: str
    frame: Frame
    seen: Mapping[str, Look]


class SeenFile(NamedTuple):
    """What a file tells: what was there before, and the frames in order."""

    before: Mapping[str, Look]
    plays: tuple[Play, ...]


@dataclass
class _Block:
    """A head with the rows below it."""

    word: str
    name: str
    grid: str
    place: Place
    rows: list[str] = field(default_factory=list)
    places: list[Place] = field(default_factory=list)


def read_seen(
    text: str, file: str, machine: Machine, tests: Callable[[], tuple[Frame, ...]], found: Findings
) -> SeenFile | None:
    """What a file tells; None where something is wrong with it, which goes to the findings.

    `tests` gives the test frames; it is called only where the file speaks of one.
    """
    reader = _Reader(machine, tests, found)
    for block in _blocks(text, file, found):
        reader.take(block)
    reader.end(Place(file, max(1, text.count("\n")), 1))
    if not reader.plays and not found.has_errors:
        what = "no frame is in it"
        hint = f"`seqc diagnose` without this file prints frames to fill in; {FORMS}"
        found.error("sight-none", what, Place(file, 1, 1), hint)
    return None if found.has_errors else SeenFile(reader.before, tuple(reader.plays))


def _blocks(text: str, file: str, found: Findings) -> list[_Block]:
    blocks: list[_Block] = []
    for number, line in enumerate(text.splitlines(), 1):
        words, column = line.strip(), len(line) - len(line.lstrip()) + 1
        if not words or words.startswith("#"):
            continue
        head = HEAD.match(words)
        if head and not words.startswith("|"):
            place = Place(file, number, column, head.end())
            name = (head["name"] or "").strip('"')
            blocks.append(_Block(head["word"], name, head["grid"] or "", place))
        rest = words[head.end() :] if head else words
        _add_rows(blocks, rest, Place(file, number, column + len(words) - len(rest)), found)
    return blocks


def _add_rows(blocks: list[_Block], rest: str, place: Place, found: Findings) -> None:
    """The rows in what is left of a line."""
    left = ROW.sub(lambda row: " " * len(row[0]), rest)
    stray = re.search(r"[^ \t]", left)
    if stray and stray[0] != "#":
        message = f"`{shown(left[stray.start() :].strip())}` isn't understood"
        hint = f"a row stands between bars, `|.##.|`; {FORMS}"
        at = place._replace(column=place.column + stray.start())
        found.error("sight-syntax", message, at, hint)
    end = stray.start() if stray else len(rest)
    for row in ROW.finditer(rest[:end]):
        at = place._replace(column=place.column + row.start() + 1, length=max(1, len(row[1])))
        if not blocks:
            found.error("sight-head", "it isn't said which frame this is", at, FORMS)
            return
        blocks[-1].rows.append(row[1])
        blocks[-1].places.append(at)


class _Reader:
    """Puts blocks together to frames and what was seen of them."""

    def __init__(
        self, machine: Machine, tests: Callable[[], tuple[Frame, ...]], found: Findings
    ) -> None:
        self.machine, self.found = machine, found
        self._tests = tests
        self.kind_of: dict[str, str | None] = {s: name for name, s in signs_of(machine).items()}
        self.kind_of |= {NOTHING: None, NOT_LOOKED: NOT_LOOKED}
        self.before: dict[str, Look] = {}
        self.plays: list[Play] = []
        self._head: tuple[str, str] | None = None
        self._asked: dict[str, Glyph] = {}
        self._place: Place | None = None
        self._spoilt = False

    def take(self, block: _Block) -> None:
        """The next block."""
        takers = {
            "before": self._take_before,
            "test": self._take_test,
            "frame": self._take_frame,
            "picture": self._take_picture,
            "seen": self._take_seen,
        }
        take = takers.get(block.word)
        if take is None:
            message = f"`{shown(block.word)}` isn't the head of a picture"
            hint = did_you_mean(block.word, list(takers)) or FORMS
            self.found.error("sight-head", message, block.place, hint)
            return
        if block.word not in ("picture", "seen"):
            self.end(block.place)
        grid = self._grid(block)
        look = self._look(block, grid) if grid else None
        if grid and look is not None:
            take(block, grid, look)
        elif block.word == "picture":
            self._spoilt = True

    def end(self, place: Place) -> None:
        """No `seen` is to come for the picture before."""
        self._spoilt = False
        if self._asked:
            what = "a picture is asked for, and it isn't told what was seen of it"
            hint = "write `seen` and the picture below"
            self.found.error("sight-not-seen", what, self._place or place, hint)
            self._asked = {}

    def _take_before(self, block: _Block, grid: Grid, look: Look) -> None:
        if self.plays or grid.name in self.before:
            what = "what was there before the first frame is told too late, or twice"
            self.found.error("sight-before", what, block.place, "put it once, at the top")
            return
        self.before[grid.name] = look

    def _take_test(self, block: _Block, grid: Grid, look: Look) -> None:
        tests = self._tests()
        if not block.name.isdigit() or not 1 <= int(block.name) <= len(tests):
            what = f"there is no test frame {shown(block.name) or 'without a number'}"
            hint = f"there are {len(tests)}, from 1 on" if tests else "this machine has none"
            self.found.error("sight-frame", what, block.place, hint)
            return
        self._add(block, tests[int(block.name) - 1], grid, look)

    def _take_frame(self, block: _Block, grid: Grid, look: Look) -> None:
        fonts = [font for font in self.machine.fonts if font.grid.name == grid.name]
        for font in fonts:
            if block.name in font.by_name:
                self._add(block, Frame((font.by_name[block.name],)), grid, look)
                return
        known = [name for font in fonts for name in font.by_name]
        what = f"no font of grid `{grid.name}` has a glyph `{shown(block.name)}`"
        hint = did_you_mean(block.name, known) or "a picture that no font has is a `picture`"
        self.found.error("sight-frame", what, block.place, hint)

    def _take_picture(self, block: _Block, grid: Grid, look: Look) -> None:
        if grid.name in self._asked:
            self.end(block.place)
        wrong = [n for n, kind in enumerate(look) if kind is None or kind == NOT_LOOKED]
        if wrong:
            what = f"{grid.cells[wrong[0]]} of the picture asked for has no item"
            hint = "`?` and `_` are for what was seen; it stands below, under `seen`"
            self.found.error("sight-mark", what, block.place, hint)
            return
        kinds = tuple(kind or "" for kind in look)
        self._asked[grid.name] = Glyph("picture", "", grid.name, kinds, block.place)
        self._place = block.place
        self._head = None

    def _take_seen(self, block: _Block, grid: Grid, look: Look) -> None:
        if self._head == ("seen", "") and not self._asked and self.plays:
            self._join(block, grid, look)
            return
        if self._spoilt:
            return
        if not self._asked:
            what = "it isn't told what was asked for"
            self.found.error("sight-head", what, block.place, f"put `picture` before it; {FORMS}")
            return
        frame = Frame(tuple(self._asked.values()))
        self._asked = {}
        self._head = None
        self._add(block, frame, grid, look)

    def _add(self, block: _Block, frame: Frame, grid: Grid, look: Look) -> None:
        head = block.word, block.name
        if head == self._head and grid.name not in self.plays[-1].seen:
            self._join(block, grid, look, frame)
            return
        if len(self.plays) >= MOST_PLAYS:
            what = f"there are more than {MOST_PLAYS} frames"
            self.found.error("sight-many", what, block.place, "leave out the first ones")
            return
        self._head = head
        pictures = sum(play.name.startswith("picture") for play in self.plays)
        name = f"picture {pictures + 1}" if block.word == "seen" else f"{block.word} {block.name}"
        self.plays.append(Play(name, frame, {grid.name: look}))

    def _join(self, block: _Block, grid: Grid, look: Look, frame: Frame | None = None) -> None:
        """What was seen of another grid of the same frame."""
        last = self.plays[-1]
        if grid.name in last.seen:
            what = f"grid `{grid.name}` is told twice of one frame"
            self.found.error("sight-twice", what, block.place, "remove one of them")
            return
        glyphs = {glyph.grid: glyph for glyph in (*last.frame, *(frame or ()))}
        seen = {**last.seen, grid.name: look}
        self.plays[-1] = Play(last.name, Frame(tuple(glyphs.values())), seen)

    def _grid(self, block: _Block) -> Grid | None:
        grids = {grid.name: grid for grid in self.machine.grids}
        if not block.grid and len(grids) == 1:
            return self.machine.grids[0]
        if block.grid in grids:
            return grids[block.grid]
        what = f"there is no grid `{block.grid}`" if block.grid else "it isn't told of which grid"
        hint = f"write `on` and one of {listed(quoted(grids))}"
        self.found.error("sight-grid", what, block.place, hint)
        return None

    def _look(self, block: _Block, grid: Grid) -> Look | None:
        """The kinds of a picture, in the order of its cells; None where it isn't whole."""
        if len(block.rows) != grid.rows:
            what = f"this is {amount_of(len(block.rows), 'row')}"
            self._report_size(f"{what}; grid `{grid.name}` has {grid.rows}", block.place)
            return None
        for number, (row, place) in enumerate(zip(block.rows, block.places, strict=True), 1):
            if len(row) != grid.columns:
                what = f"row {number} has {amount_of(len(row), 'mark')}"
                self._report_size(f"{what}; grid `{grid.name}` has {grid.columns} columns", place)
                return None
        signs = [(cell, self._sign(block, cell)) for cell in _all_cells(grid)]
        sound = [self._is_known(block, grid, cell, sign) for cell, sign in signs]
        if not all(sound):
            return None
        return tuple(self.kind_of[sign] for cell, sign in signs if cell in grid.index_of)

    def _report_size(self, what: str, place: Place) -> None:
        hint = f"draw every cell: `{NOT_LOOKED}` where nobody looked, `{NOTHING}` for nothing there"
        self.found.error("sight-size", what, place, hint)

    @staticmethod
    def _sign(block: _Block, cell: Cell) -> str:
        return block.rows[cell.row - 1][cell.column - 1]

    def _is_known(self, block: _Block, grid: Grid, cell: Cell, sign: str) -> bool:
        place = block.places[cell.row - 1]
        place = place._replace(column=place.column + cell.column - 1, length=1)
        is_there = cell in grid.index_of
        if not is_there and sign in (ABSENT, NOT_LOOKED):
            return True
        if not is_there:
            what = f"{cell} is drawn, and grid `{grid.name}` doesn't have it"
            self.found.error("sight-cell", what, place, f"draw `{ABSENT}` there")
            return False
        if sign in self.kind_of:
            return True
        known = ", ".join(f"`{sign}` {kind}" for sign, kind in self.kind_of.items() if kind)
        known = known.replace(f"`{NOT_LOOKED}` {NOT_LOOKED}", f"`{NOT_LOOKED}` not looked at")
        what = f"`{sign}` is no mark of this machine"
        self.found.error("sight-mark", what, place, f"marks are {known}, `{NOTHING}` nothing there")
        return False


def _all_cells(grid: Grid) -> list[Cell]:
    """Every place of a grid, absent ones too, row by row."""
    columns = range(1, grid.columns + 1)
    return [Cell(row, column) for row in range(1, grid.rows + 1) for column in columns]
