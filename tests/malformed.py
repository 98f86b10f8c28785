"""Malformed machine files, each with the message that it deserves, and where.

A `Sample` is the good board below with a few words changed, so that each is the smallest mistake of
its kind; a `FileSample` is a set of files of which `main.lanes` is read.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

BOARD = """\
machine board
item slate { tone dark }
item chalk { tone light }
grid g { columns 2 rows 2 }
lane g = shown <- swap <- drop <- pick(slate, chalk)
selector pick { per row coil small }
gate drop { per column coil small open 60 ms }
gate swap { whole grid coil small open 80 ms }
path drop -> swap { falls in 300 ms }
path swap -> shown { falls in 200 ms }
coil small { 12 V 8 ohm pulse 40 ms travel 18 ms }
relay card { operate 10 ms release 6 ms }
outputs bus { bits 10 }
drive pick, drop, swap { changeover pair relay card from bus }
supply bench { 12 V limit 8 A }
font f for g { mark "#" slate mark "." chalk glyph "0" { |#.| |.#| } }
programme p { show "0" every 1 s }
"""


class Sample:
    """The board with each text of `edits` replaced by the next, once, and what that must give."""

    def __init__(self, code: str, line: int, column: int, message: str, *edits: str) -> None:
        self.code = code
        self.line = line
        self.column = column
        self.message = message
        self.edits = edits

    @property
    def text(self) -> str:
        """The text of the malformed file."""
        text = BOARD
        for old, new in zip(self.edits[::2], self.edits[1::2], strict=True):
            assert old in text
            text = text.replace(old, new, 1)
        return text


@dataclass(frozen=True)
class FileSample:
    """Files by their names, and what reading `main.lanes` must give; `file` is where."""

    code: str
    file: str
    line: int
    column: int
    message: str
    files: Mapping[str, bytes]


CHAIN = {f"part{n}.lanes": f'include "part{n + 1}.lanes"'.encode() for n in range(20)}
BIG = "grid g{0} {{ columns 64 rows 64 }}\nlane g{0} = shown <- swap <- drop <- slate\n"
ITEMS = "".join(f"item spare{n} {{ tone grey }}\n" for n in range(1_200)).encode()

SAMPLES = (
    # Syntax.
    Sample(
        "unknown-statement",
        2,
        1,
        "`items` doesn't begin a statement",
        "item slate {",
        "items slate {",
    ),
    Sample(
        "unexpected-text",
        2,
        12,
        "expected `{` after `slate`, but found `tone`",
        "item slate { tone dark }",
        "item slate tone dark }",
    ),
    Sample(
        "unclosed-block",
        2,
        23,
        "the block isn't closed",
        "item slate { tone dark }",
        "item slate { tone dark",
    ),
    Sample(
        "unexpected-text",
        2,
        6,
        "expected a name after `item`, but found `{`",
        "item slate { tone dark }",
        "item { tone dark }",
    ),
    Sample(
        "unexpected-text",
        2,
        6,
        "expected a name after `item`, but found `3`",
        "item slate {",
        "item 3 {",
    ),
    Sample(
        "unexpected-text",
        2,
        19,
        "expected a setting or `}` after `tone`, but found `=`",
        "tone dark",
        "tone = dark",
    ),
    Sample(
        "unknown-character",
        2,
        19,
        "the character `$` has no meaning here",
        "tone dark",
        "tone $ dark",
    ),
    Sample(
        "unknown-character",
        2,
        23,
        "the character U+00A0 has no meaning here",
        "tone dark }",
        "tone dark\xa0}",
    ),
    Sample(
        "unexpected-text",
        2,
        26,
        "expected a new statement after `}`, but found `}`",
        "tone dark }",
        "tone dark } }",
    ),
    Sample("unclosed-row", 16, 63, "the row has no closing bar", "{ |#.| |.#| }", "{ |#.| |.# }"),
    Sample(
        "unexpected-text",
        16,
        56,
        'expected a setting or `}` after `"0"`, but found `|#.|`',
        "{ |#.| |.#| }",
        "|#.|",
    ),
    Sample(
        "unknown-character",
        4,
        18,
        "the character `.` has no meaning here",
        "columns 2 rows 2",
        "shape { .. .. }",
    ),
    Sample("unclosed-text", 17, 20, "the text has no closing quote", 'show "0"', 'show "0'),
    Sample("unknown-escape", 17, 20, "`\\n` means nothing in a text", 'show "0"', 'show "\\n"'),
    Sample(
        "unexpected-text",
        5,
        8,
        "expected `=` after `g`, but found `shown`",
        "lane g = shown",
        "lane g shown",
    ),
    Sample(
        "unexpected-text", 5, 28, "expected a name after `<-`, but found `<-`", "<- drop", "<- "
    ),
    Sample(
        "unexpected-text",
        5,
        52,
        "expected `,` or `)` after `chalk`, but the statement ends",
        "(slate, chalk)",
        "(slate, chalk",
    ),
    Sample(
        "unexpected-text",
        9,
        11,
        "expected `->` after `drop`, but found `swap`",
        "path drop -> swap",
        "path drop swap",
    ),
    Sample(
        "unknown-character",
        9,
        11,
        "the character `-` has no meaning here",
        "path drop -> swap",
        "path drop - > swap",
    ),
    Sample(
        "unexpected-text",
        16,
        8,
        "expected `for` and the name of a grid after `f`, but found `{`",
        "font f for g",
        "font f",
    ),
    Sample(
        "unexpected-text",
        14,
        12,
        "expected `,` or `{` after `pick`, but found `drop`",
        "drive pick, drop, swap",
        "drive pick drop, swap",
    ),
    Sample(
        "unexpected-text",
        1,
        8,
        "expected a name after `machine`, but the statement ends",
        "machine board",
        "machine",
    ),
    Sample(
        "unexpected-text",
        2,
        9,
        "expected a text in quotes after `include`, but found `parts`",
        "machine board",
        "machine board\ninclude parts",
    ),
    Sample(
        "word-too-long",
        2,
        19,
        f"`{'d' * 60}...` has more than 120 characters",
        "tone dark",
        "tone " + "d" * 200,
    ),
    # Settings and quantities.
    Sample("unknown-setting", 2, 14, "`item` has no setting `tome`", "tone dark", "tome dark"),
    Sample(
        "unknown-setting",
        2,
        24,
        "`item` has no setting `colour`",
        "tone dark",
        "tone dark colour 3",
    ),
    Sample("missing-setting", 2, 6, "item `slate` has no `tone`", "tone dark ", ""),
    Sample("missing-value", 2, 14, "`tone` needs a word", "tone dark", "tone"),
    Sample(
        "missing-value", 2, 24, "`stock` needs a whole number", "tone dark", "tone dark stock many"
    ),
    Sample(
        "not-whole",
        2,
        30,
        "`stock` is a whole number, but `2.5` isn't",
        "tone dark",
        "tone dark stock 2.5",
    ),
    Sample(
        "needless-unit",
        2,
        33,
        "`stock` is a plain number, without a unit",
        "tone dark",
        "tone dark stock 20 mm",
    ),
    Sample(
        "out-of-range",
        2,
        30,
        "`stock` must be between 0 and 1000000000000, not -1",
        "tone dark",
        "tone dark stock -1",
    ),
    Sample("repeated-setting", 2, 24, "`tone` is given twice", "tone dark", "tone dark tone light"),
    Sample("stray-value", 2, 24, "`8 mm` belongs to no setting", "tone dark", "tone dark 8 mm"),
    Sample("stray-value", 2, 23, "this belongs to no setting", "tone dark", "tone dark, stock 3"),
    Sample(
        "missing-unit", 11, 31, "`40` has no unit, but `pulse` is a time", "pulse 40 ms", "pulse 40"
    ),
    Sample("missing-value", 11, 25, "`pulse` needs a time", "pulse 40 ms", "pulse ms"),
    Sample(
        "wrong-dimension",
        11,
        31,
        "`pulse` is a time, but `40 mm` is a length",
        "pulse 40 ms",
        "pulse 40 mm",
    ),
    Sample("unknown-unit", 11, 34, "`msec` is not a unit of time", "pulse 40 ms", "pulse 40 msec"),
    Sample(
        "out-of-range",
        11,
        31,
        "`pulse` must be between 100 us and 10 s, not 0 ms",
        "pulse 40 ms",
        "pulse 0 ms",
    ),
    Sample(
        "out-of-range",
        11,
        31,
        "`pulse` must be between 100 us and 10 s, not 40 h",
        "pulse 40 ms",
        "pulse 40 h",
    ),
    Sample(
        "out-of-range",
        11,
        31,
        "`pulse` must be between 100 us and 10 s, not 1e999 s",
        "pulse 40 ms",
        "pulse 1e999 s",
    ),
    Sample("missing-setting", 11, 6, "coil `small` has no voltage", "12 V 8 ohm", "8 ohm"),
    Sample(
        "repeated-setting", 11, 19, "the voltage is given twice", "12 V 8 ohm", "12 V 12 V 8 ohm"
    ),
    Sample("stray-value", 11, 19, "`8` belongs to no setting", "12 V 8 ohm", "12 V 8"),
    Sample(
        "short-pulse",
        11,
        44,
        "coil `small` travels for 50 ms, longer than its pulse of 40 ms",
        "travel 18 ms",
        "travel 50 ms",
    ),
    Sample(
        "longest-below-pulse",
        11,
        58,
        "the longest pulse of coil `small` is shorter than its pulse of 40 ms",
        "travel 18 ms",
        "travel 18 ms longest 30 ms",
    ),
    Sample(
        "incomplete-setting",
        6,
        17,
        "`per` alone is not a setting: it goes on as `per row`, `per column` or `per cell`",
        "per row coil",
        "per coil",
    ),
    Sample(
        "excluded-setting",
        6,
        25,
        "`per row` and `per cell` exclude each other",
        "per row coil",
        "per row per cell coil",
    ),
    Sample("missing-setting", 6, 10, "selector `pick` has no linkage", "per row coil", "coil"),
    Sample(
        "missing-setting", 6, 10, "selector `pick` has no `coil`", "per row coil small", "per row"
    ),
    Sample(
        "missing-value",
        6,
        25,
        "`coil` needs a name",
        "per row coil small",
        "per row coil settle 10 ms",
    ),
    Sample(
        "incomplete-setting",
        12,
        41,
        "`contact` alone is not a setting: it goes on as `contact life`",
        "release 6 ms",
        "release 6 ms contact 100000",
    ),
    Sample(
        "missing-value",
        14,
        66,
        "`at` needs a further number after the comma",
        "from bus",
        "from bus at 1,",
    ),
    Sample("missing-setting", 17, 11, "programme `p` has no `every`", "every 1 s ", ""),
    # Grids and linkages.
    Sample("missing-size", 4, 6, "grid `g` has no `rows`", "columns 2 rows 2", "columns 2"),
    Sample("missing-size", 4, 6, "grid `g` has no size", "columns 2 rows 2 ", ""),
    Sample(
        "size-mismatch",
        4,
        25,
        "`rows 3` is given, but the shape has 2",
        "columns 2 rows 2",
        "columns 2 rows 3 shape { |..| |..| }",
    ),
    Sample(
        "ragged-art",
        4,
        24,
        "the shape of a grid has a row of 3 after one of 2",
        "columns 2 rows 2",
        "shape { |..| |...| }",
    ),
    Sample(
        "empty-art",
        4,
        16,
        "the shape of a grid is drawn without a cell",
        "columns 2 rows 2",
        "shape { }",
    ),
    Sample("empty-grid", 4, 16, "grid `g` has no cell", "columns 2 rows 2", "shape { |--| |--| }"),
    Sample(
        "too-many-cells",
        4,
        6,
        "1000 rows of 1000 columns are 1000000 cells, more than 4096",
        "columns 2 rows 2",
        "columns 1000 rows 1000",
    ),
    Sample(
        "too-many-actuators",
        7,
        13,
        "more than 4096 actuators in all, those of `drop` among them",
        "columns 2 rows 2",
        "columns 64 rows 64",
        "per row",
        "per cell",
    ),
    Sample(
        "too-many-cells",
        12,
        6,
        "more than 16384 cells in all grids together",
        "grid g {",
        "".join(BIG.format(n) for n in range(5)) + "grid g {",
        'show "0"',
        'show "0" on g',
    ),
    Sample(
        "too-many-outputs",
        17,
        9,
        "more than 4096 outputs in all",
        "outputs bus {",
        "".join(f"outputs bus{n} {{ bits 1000 }}\n" for n in range(5)) + "outputs bus {",
        "from bus",
        "from bus0",
    ),
    Sample(
        "map-size",
        7,
        17,
        "the map of `drop` has 1 row of 2, but grid `g` has 2 of 2",
        "per column",
        "map { |ab| }",
    ),
    Sample(
        "map-misses-cell",
        7,
        25,
        "the map of `drop` misses the cell at row 2 column 1 of grid `g`",
        "per column",
        "map { |ab| |-b| }",
    ),
    Sample(
        "bad-letter",
        7,
        26,
        "the map of `drop` has '+' at row 2 column 2 of grid `g`, not a letter or digit",
        "per column",
        "map { |ab| |a+| }",
    ),
    Sample(
        "ragged-art",
        7,
        25,
        "the letter map has a row of 1 after one of 2",
        "per column",
        "map { |ab| |a| }",
    ),
    # Names.
    Sample(
        "unknown-name",
        5,
        40,
        "no item, selector or gate is called `slat`",
        "(slate, chalk)",
        "(slat, chalk)",
    ),
    Sample(
        "unknown-name", 6, 30, "no coil is called `smal`", "per row coil small", "per row coil smal"
    ),
    Sample(
        "unknown-name", 14, 48, "no relay is called `cart`", "relay card from", "relay cart from"
    ),
    Sample("unknown-name", 14, 58, "no bus of outputs is called `buss`", "from bus", "from buss"),
    Sample(
        "duplicate-name",
        3,
        6,
        "the name `slate` is declared twice",
        "item chalk",
        "item slate { tone grey }\nitem chalk",
    ),
    Sample(
        "bad-name", 1, 9, "`berth-board` is not a good name", "machine board", "machine berth-board"
    ),
    Sample(
        "bad-name", 1, 9, f"`{'b' * 41}` is not a good name", "machine board", "machine " + "b" * 41
    ),
    Sample(
        "reserved-name",
        3,
        6,
        "`shown` is the place that is seen, and no name for anything else",
        "item chalk",
        "item shown { tone grey }\nitem chalk",
    ),
    Sample("missing-machine", 1, 1, "the file doesn't name its machine", "machine board\n", ""),
    Sample(
        "second-machine",
        2,
        1,
        "the machine is named twice",
        "machine board",
        "machine board\nmachine bird",
    ),
    Sample(
        "unused",
        3,
        6,
        "item `amber` stands in no lane",
        "item chalk",
        "item amber { tone warm }\nitem chalk",
    ),
    Sample(
        "unused",
        12,
        7,
        "nothing uses relay `spare`",
        "relay card {",
        "relay spare { operate 1 ms release 1 ms }\nrelay card {",
    ),
    # Lanes and paths.
    Sample(
        "missing-shown",
        5,
        6,
        "lane `g` doesn't tell which place is seen",
        "shown <- swap <- drop <- pick",
        "swap <- drop <- pick",
    ),
    Sample(
        "second-shown",
        5,
        27,
        "`shown` stands twice in one lane",
        "shown <- swap <- drop",
        "shown <- swap <- shown <- drop",
    ),
    Sample(
        "missing-gate",
        5,
        10,
        "no gate stands above `shown`",
        "shown <- swap <- drop <- pick",
        "shown <- pick",
    ),
    Sample(
        "wrong-role",
        5,
        27,
        "`drop` is a gate, but a lane ends in its items",
        " <- pick(slate, chalk)",
        "",
    ),
    Sample(
        "wrong-role",
        5,
        19,
        "`slate` is an item, but a gate must stand here",
        "shown <- swap <- drop",
        "shown <- slate <- drop",
    ),
    Sample(
        "repeated-part",
        5,
        27,
        "`swap` stands twice in one lane",
        "shown <- swap <- drop",
        "shown <- swap <- swap <- drop",
    ),
    Sample(
        "gate-with-inputs",
        5,
        27,
        "`drop` is a gate and has no inputs to choose from",
        "<- drop <-",
        "<- drop(slate, chalk) <-",
    ),
    Sample(
        "too-many-gates",
        5,
        1,
        "more than 64 stations in one lane",
        "<- drop <-",
        "<- " + "drop <- " * 64 + "drop <- ",
    ),
    Sample(
        "item-with-inputs",
        5,
        35,
        "`slate` is an item and has no inputs",
        "pick(slate, chalk)",
        "slate(slate, chalk)",
    ),
    Sample(
        "wrong-inputs",
        5,
        35,
        "selector `pick` has 0 inputs here, and needs 2",
        "pick(slate, chalk)",
        "pick",
    ),
    Sample(
        "wrong-inputs",
        5,
        35,
        "selector `pick` has 1 input here, and needs 2",
        "(slate, chalk)",
        "(slate)",
    ),
    Sample(
        "repeated-part",
        5,
        47,
        "`pick` stands twice in one lane",
        "(slate, chalk)",
        "(slate, pick(slate, chalk))",
    ),
    Sample(
        "too-deep",
        5,
        120,
        "selectors nest deeper than 16",
        "pick(slate, chalk)",
        "pick(" * 20 + "slate" + ", chalk)" * 20,
    ),
    Sample(
        "too-many-inputs",
        5,
        1825,
        "more than 256 inputs in one lane",
        "pick(slate, chalk)",
        "pick(" + ", ".join(["slate"] * 300) + ")",
    ),
    Sample(
        "missing-lane",
        4,
        6,
        "grid `g` has no lane",
        "lane g = shown <- swap <- drop <- pick(slate, chalk)\n",
        "",
    ),
    Sample(
        "second-lane",
        6,
        6,
        "grid `g` has two lanes",
        "lane g =",
        "lane g = shown <- swap <- drop <- slate\nlane g =",
    ),
    Sample("missing-grid", 1, 9, "the machine has no grid", "grid g { columns 2 rows 2 }\n", ""),
    Sample(
        "missing-path",
        5,
        27,
        "there is no path from `drop` to `swap`",
        "path drop -> swap { falls in 300 ms }\n",
        "",
    ),
    Sample(
        "duplicate-path",
        10,
        1,
        "the path from `drop` to `swap` is declared twice",
        "path drop -> swap",
        "path drop -> swap { fall 50 mm }\npath drop -> swap",
    ),
    Sample(
        "unused-path",
        9,
        1,
        "no lane leads from `drop` to `shown`",
        "path drop -> swap",
        "path drop -> shown { fall 50 mm }\npath drop -> swap",
    ),
    Sample(
        "wrong-role",
        9,
        6,
        "`pick` is a selector, and paths lead from gate to gate",
        "path drop -> swap",
        "path pick -> swap { fall 50 mm }\npath drop -> swap",
    ),
    Sample(
        "wrong-role",
        9,
        6,
        "a path can't begin at `shown`",
        "path drop -> swap",
        "path shown -> swap { fall 50 mm }\npath drop -> swap",
    ),
    Sample("missing-slope", 9, 21, "`roll` needs its slope", "falls in 300 ms", "roll 120 mm"),
    Sample(
        "excluded-setting",
        9,
        33,
        "`at` is for items that roll, not for `fall`",
        "falls in 300 ms",
        "fall 120 mm at 9 deg",
    ),
    Sample(
        "cannot-roll",
        9,
        42,
        "item `chalk` can't roll here: rolling on rails needs the diameter of the item",
        "tone dark }",
        "tone dark diameter 8 mm }",
        "falls in 300 ms",
        "roll 120 mm at 9 deg on rails 4 mm",
    ),
    Sample(
        "cannot-roll",
        9,
        42,
        "item `chalk` can't roll here: an item of 3 mm falls through rails that are 4 mm apart",
        "tone dark }",
        "tone dark diameter 8 mm }",
        "tone light }",
        "tone light diameter 3 mm }",
        "falls in 300 ms",
        "roll 120 mm at 9 deg on rails 4 mm",
    ),
    Sample(
        "missing-setting",
        9,
        6,
        "path `drop -> swap` has no course",
        "falls in 300 ms",
        "settle 20 ms",
    ),
    Sample(
        "out-of-range",
        9,
        36,
        "`at` must be between 0.001 deg and 90 deg, not 95 deg",
        "falls in 300 ms",
        "roll 120 mm at 95 deg",
    ),
    # Drives and outputs.
    Sample(
        "too-few-outputs", 14, 58, "`bus` has 8 outputs, but 10 are needed", "bits 10", "bits 8"
    ),
    Sample(
        "no-such-output",
        14,
        65,
        "`bus` has no output 12: they count from 0 to 9",
        "from bus",
        "from bus at 3",
    ),
    Sample(
        "output-count",
        14,
        65,
        "3 outputs are listed, but the drive needs 10",
        "from bus",
        "from bus at 1, 2, 3",
    ),
    Sample(
        "output-taken",
        14,
        74,
        "output 3 of `bus` is used twice in one drive",
        "from bus",
        "from bus at 1, 2, 3, 3, 4, 5, 6, 7, 8, 9",
    ),
    Sample(
        "output-taken",
        15,
        53,
        "output 7 of `bus` is used by two drives",
        "drive pick, drop, swap { changeover pair relay card from bus }",
        "drive pick, drop { changeover pair relay card from bus }\n"
        "drive swap { changeover pair relay card from bus at 7 }",
    ),
    Sample("missing-drive", 8, 6, "no drive moves `swap`", "pick, drop, swap {", "pick, drop {"),
    Sample(
        "second-drive",
        14,
        25,
        "`pick` has two drives",
        "pick, drop, swap {",
        "pick, drop, swap, pick {",
    ),
    Sample(
        "wrong-role",
        14,
        25,
        "`slate` is an item, and a drive moves selectors and gates",
        "pick, drop, swap {",
        "pick, drop, swap, slate {",
    ),
    Sample(
        "missing-setting",
        14,
        26,
        "a changeover pair has no `relay`",
        "changeover pair relay card",
        "changeover pair",
    ),
    Sample(
        "excluded-setting",
        14,
        43,
        "a bridge has no use for `relay`",
        "changeover pair relay card",
        "bridge dead 1 ms relay card",
    ),
    Sample(
        "missing-setting", 14, 26, "a bridge has no `dead`", "changeover pair relay card", "bridge"
    ),
    Sample(
        "missing-supply", 14, 1, "the drive has no supply", "supply bench { 12 V limit 8 A }\n", ""
    ),
    Sample(
        "which-supply",
        14,
        1,
        "the drive doesn't tell which of 2 supplies it is on",
        "supply bench",
        "supply other { 12 V limit 2 A }\nsupply bench",
    ),
    Sample(
        "voltage-mismatch",
        14,
        7,
        "coil `small` is for 12 V, but supply `bench` gives 24 V",
        "12 V limit",
        "24 V limit",
    ),
    # Fonts and programmes.
    Sample(
        "unknown-name",
        16,
        25,
        "no item, selector or gate is called `slat`",
        'mark "#" slate',
        'mark "#" slat',
    ),
    Sample(
        "wrong-role",
        16,
        25,
        "`pick` is a selector, but an item must stand here",
        'mark "#" slate',
        'mark "#" pick',
    ),
    Sample("empty-text", 16, 52, "the text is empty", 'glyph "0"', 'glyph ""'),
    Sample(
        "hidden-character",
        16,
        52,
        "the text has the character U+202E, which can't be seen",
        'glyph "0"',
        'glyph "\u202e"',
    ),
    Sample(
        "excluded-setting",
        16,
        16,
        "`ink` is for a font that is read from a file",
        "f for g {",
        "f for g { ink slate",
    ),
    Sample(
        "file-outside",
        16,
        19,
        "`/etc/f.bdf` leads out of the folder of the machine file",
        "f for g {",
        'f for g from "/etc/f.bdf" { ink slate paper chalk',
    ),
    Sample(
        "file-outside",
        16,
        19,
        "`../f.bdf` leads out of the folder of the machine file",
        "f for g {",
        'f for g from "../f.bdf" { ink slate paper chalk',
    ),
    Sample(
        "missing-setting",
        16,
        6,
        "the font is read from a file, but has no `paper`",
        "f for g {",
        'f for g from "f.bdf" { ink slate',
    ),
    Sample("unknown-name", 17, 27, "no grid is called `h`", 'show "0"', 'show "0" on h'),
    Sample("unknown-name", 17, 27, "no font is called `h`", 'show "0"', 'show "0" in h'),
    Sample(
        "misplaced-setting", 17, 15, "`on` stands before any `show`", 'show "0"', 'on g show "0"'
    ),
    Sample(
        "repeated-setting",
        17,
        29,
        "`in` is given twice for one `show`",
        'show "0"',
        'show "0" in f in f',
    ),
    Sample(
        "second-show",
        17,
        29,
        "grid `g` is given two texts in one programme",
        'show "0"',
        'show "0" show "0"',
    ),
    Sample(
        "text-too-long",
        17,
        20,
        "the text has 5000 characters, more than 4096",
        'show "0"',
        'show "' + "0" * 5_000 + '"',
    ),
    Sample(
        "missing-font",
        16,
        15,
        "no font is declared for grid `g`",
        'font f for g { mark "#" slate mark "." chalk glyph "0" { |#.| |.#| } }\n',
        "",
    ),
    Sample(
        "which-grid",
        19,
        15,
        "the show doesn't tell on which grid",
        "grid g",
        "grid h { columns 1 rows 1 }\nlane h = shown <- swap <- drop <- slate\ngrid g",
        "bits 10",
        "bits 99",
    ),
    Sample(
        "wrong-font",
        19,
        32,
        "font `f` is for grid `g`, not for `h`",
        "grid g",
        "grid h { columns 1 rows 1 }\nlane h = shown <- swap <- drop <- slate\ngrid g",
        "bits 10",
        "bits 99",
        'show "0"',
        'show "0" on h in f',
    ),
    # Windings, places, copies and clocks.
    Sample(
        "unknown-class",
        11,
        56,
        "`C` is not a thermal class",
        "travel 18 ms }",
        "travel 18 ms class C }",
    ),
    Sample(
        "half-leads",
        11,
        50,
        "`leads AWG` alone doesn't tell the resistance of the leads",
        "travel 18 ms }",
        "travel 18 ms leads AWG 22 }",
    ),
    Sample(
        "half-leads",
        11,
        50,
        "`length` alone doesn't tell the resistance of the leads",
        "travel 18 ms }",
        "travel 18 ms length 2 m }",
    ),
    Sample(
        "no-first-place",
        4,
        27,
        "`lanes apart` is given without `lanes at`",
        "rows 2 }",
        "rows 2 lanes apart 20 mm 25 mm }",
    ),
    Sample(
        "no-first-place",
        6,
        36,
        "`magnets depth` is given without `magnets at`",
        "coil small }",
        "coil small magnets depth 5 mm }",
    ),
    Sample(
        "out-of-range",
        4,
        34,
        "`copies` must be between 2 and 64, not 1",
        "rows 2 }",
        "rows 2 copies 1 }",
    ),
    Sample(
        "duplicate-name",
        17,
        6,
        "the name `g_2` is that of a copy of `g`",
        "rows 2 }",
        "rows 2 copies 2 }",
        "bits 10",
        "bits 40",
        'programme p { show "0" every 1 s }',
        "grid g_2 { columns 2 rows 2 }\nlane g_2 = shown <- swap <- drop <- pick(slate, chalk)",
    ),
    Sample(
        "too-many-cells",
        4,
        6,
        "more than 16384 cells in all grids together",
        "columns 2 rows 2 }",
        "columns 64 rows 64 copies 5 }",
    ),
    Sample(
        "no-hands",
        17,
        7,
        "clock `p` tells neither hours, minutes nor seconds",
        'programme p { show "0" every 1 s }',
        "clock p { on g }",
    ),
    Sample(
        "clock-numerals",
        17,
        7,
        "clock `p` has 2 hands to show, on 4 numerals, but 1 numeral",
        'programme p { show "0" every 1 s }',
        "clock p { hours minutes on g }",
    ),
    Sample(
        "second-show",
        17,
        25,
        "grid `g` is named twice in one clock",
        'programme p { show "0" every 1 s }',
        "clock p { hours on g on g }",
    ),
    Sample(
        "missing-setting",
        17,
        7,
        "clock `p` has no `on`",
        'programme p { show "0" every 1 s }',
        "clock p { hours }",
    ),
    Sample(
        "too-many-clocks",
        25,
        7,
        "more than 8 clocks",
        "rows 2 }",
        "rows 2 copies 2 }",
        "bits 10",
        "bits 40",
        'programme p { show "0" every 1 s }',
        "\n".join(f"clock c{n} {{ hours on g }}" for n in range(9)),
    ),
    Sample(
        "too-many-programmes",
        81,
        11,
        "more than 64 programmes",
        'programme p { show "0" every 1 s }',
        "\n".join(f'programme p{n} {{ show "0" every 1 s }}' for n in range(70)),
    ),
)

FILE_SAMPLES = (
    FileSample("file-not-found", "main.lanes", 1, 1, "there is no file `main.lanes`", {}),
    FileSample(
        "file-not-found",
        "main.lanes",
        1,
        9,
        "there is no file `parts.lanes`",
        {"main.lanes": b'include "parts.lanes"\n' + BOARD.encode()},
    ),
    FileSample(
        "file-not-text",
        "main.lanes",
        1,
        1,
        "`main.lanes` is not a UTF-8 text: line 2 has byte 0xff",
        {"main.lanes": b"machine board\n\xff\n"},
    ),
    FileSample(
        "file-too-large",
        "main.lanes",
        1,
        1,
        "`main.lanes` is larger than 1048576 bytes",
        {"main.lanes": b"#" * ((1 << 20) + 1)},
    ),
    FileSample(
        "file-not-readable",
        "main.lanes",
        1,
        9,
        f"`{'n' * 60}...` can't be read: File name too long",
        {"main.lanes": b'include "' + b"n" * 300 + b'"\n' + BOARD.encode()},
    ),
    FileSample(
        "file-outside",
        "deep/part.lanes",
        1,
        9,
        "`../../other.lanes` leads out of the folder of the machine file",
        {
            "main.lanes": BOARD.encode() + b'include "deep/part.lanes"\n',
            "deep/part.lanes": b'include "../../other.lanes"\n',
        },
    ),
    FileSample(
        "include-loop",
        "b.lanes",
        1,
        9,
        "the include of `a.lanes` closes a loop",
        {
            "main.lanes": BOARD.encode() + b'include "a.lanes"\n',
            "a.lanes": b'include "b.lanes"\n',
            "b.lanes": b'include "a.lanes"\n',
        },
    ),
    FileSample(
        "too-many-files",
        "part15.lanes",
        1,
        9,
        "includes nest deeper than 16",
        {"main.lanes": BOARD.encode() + b'include "part0.lanes"\n', **CHAIN},
    ),
    FileSample(
        "too-many-statements",
        "main.lanes",
        2001,
        1,
        "more than 2000 statements in one file",
        {"main.lanes": BOARD.encode() + ITEMS + ITEMS.replace(b"spare", b"other")},
    ),
    FileSample(
        "too-many-statements",
        "b.lanes",
        784,
        1,
        "more than 2000 statements in all files together",
        {
            "main.lanes": BOARD.encode() + b'include "a.lanes"\ninclude "b.lanes"\n',
            "a.lanes": ITEMS,
            "b.lanes": ITEMS.replace(b"spare", b"other"),
        },
    ),
)
