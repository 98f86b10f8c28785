"""A machine file from a stranger: nothing in it breaks out, leads out, or takes all there is."""

from __future__ import annotations

import ast
import csv
import io
import json
import os
import re
import resource
import shutil
import subprocess
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from unittest import mock

import pytest
from boards import SHOWING
from malformed import BOARD

import seqc
from seqc import codegen
from seqc.codegen.number import NO_NUMBER
from seqc.machine.findings import Findings
from seqc.machine.glyphs import Frame, Programme
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet, TablesFor

TARGETS = [target.name for target in seqc.known_targets()]

DRAWN = (
    "*/ int x; /*",
    "/*",
    "//",
    '"',
    "'",
    "\\",
    "\\\\",
    "ends in \\",
    "what??/",
    "??/",
    "%s%n",
    "=1+1",
    "+1",
    "-1",
    "@sum",
    "| a | b |",
    "```",
    "# seqc table [1]",
    "$(shell id)",
    "$end",
    ":00000001FF",
    '#include "x"',
    "<script>",
    "SEQC_H",
    "int",
    "0",
    "\u00e9",
    "\u0301",
    "\u2693\U0001f600",
    "x" * 4_000,
    "y" * 100,
    "y" * 99 + "z",
)
"""Names that a machine file can give to a glyph: all of them can be seen."""

CODES = (0x202E, 0x2028, 0x2066, 0xFEFF, 0xA0, 0xE000, 0x10FFFF)
OWN = ("{{ 7 * 7 }}", "{% raw %}", "{# note #}", "\x1b[2J", "a\x00b", "*/\x0b", "a\x85b", '"\x07')
"""Characters that only a font file can bring in, by their codes and in names of its own."""

NAMES = {"board": "main", "slate": "int", "chalk": "NULL", "pick": "void", "drop": "static"}
"""Good names in a machine file, and such as mean something in a target."""


def quoted(name: str) -> str:
    return name.replace("\\", "\\\\").replace('"', '\\"')


def machine_text(names: Sequence[str]) -> str:
    """The board with a font of these glyphs, all of one picture or the other, and no programme."""
    glyphs = " ".join(
        f'glyph "{quoted(name)}" {{ {"|#.| |.#|" if rank % 2 else "|##| |..|"} }}'
        for rank, name in enumerate(names)
    )
    text = BOARD[: BOARD.index("programme")].replace('glyph "0" { |#.| |.#| }', glyphs)
    return f'{text}font file for g from "other.bdf" {{ ink slate paper chalk }}\n'


def font_text(glyphs: Mapping[str, int]) -> str:
    head = "STARTFONT 2.1\nFONT x\nSIZE 2 75 75\nFONTBOUNDINGBOX 2 2 0 0\n"
    drawn = "".join(
        f"STARTCHAR {name}\nENCODING {code}\nSWIDTH 0 0\nDWIDTH 2 0\nBBX 2 2 0 0\n"
        "BITMAP\n80\n40\nENDCHAR\n"
        for name, code in glyphs.items()
    )
    return f"{head}CHARS {len(glyphs)}\n{drawn}ENDFONT\n"


def machine_in(folder: Path, text: str, font: str) -> Machine:
    folder.mkdir(parents=True)
    (folder / "board.lanes").write_text(text, "utf-8", newline="")
    (folder / "other.bdf").write_text(font, "utf-8", newline="")
    findings = Findings()
    machine = seqc.read(folder / "board.lanes", findings)
    assert list(findings) == []
    return machine


Build = tuple[Machine, TableSet]


def build_of(machine: Machine, tables_for: TablesFor) -> Build:
    """All glyphs of a machine, laid out; of transitions, which grow as the square, only some."""
    glyphs = [glyph for font in machine.fonts for glyph in font.glyphs]
    few = glyphs[:3] + glyphs[-3:] if tables_for is TablesFor.TRANSITION else glyphs
    frames = tuple(Frame((glyph,)) for glyph in few)
    return machine, seqc.tables(machine, Programme("all", frames, 10_000_000), tables_for)


@pytest.fixture(scope="module")
def machines(tmp_path_factory: pytest.TempPathFactory) -> tuple[Machine, Machine]:
    """A hostile machine, and a harmless one that differs in its names alone."""
    root = tmp_path_factory.mktemp("machines")
    codes = {f"code{code}": code for code in CODES}
    hostile = re.sub(rf"\b({'|'.join(NAMES)})\b", lambda name: NAMES[name[0]], machine_text(DRAWN))
    bad = machine_in(root / 'a */ "{{ x }}"', hostile, font_text(codes | dict.fromkeys(OWN, -1)))
    plain = {f"c{n}": 0x100 + n for n in range(len(CODES) + len(OWN))}
    harmless = machine_text([f"g{n}" for n in range(len(DRAWN))])
    return bad, machine_in(root / "b", harmless, font_text(plain))


@pytest.fixture(scope="module", params=SHOWING, ids=str)
def builds(
    request: pytest.FixtureRequest, machines: tuple[Machine, Machine]
) -> tuple[Build, Build]:
    """Both machines laid out alike."""
    bad, good = (build_of(machine, request.param) for machine in machines)
    return bad, good


def rendered(target: str, build: Build) -> dict[str, str]:
    return codegen.render(seqc.targets_named([target])[0], *build)


C_TOKEN = re.compile(
    r"""/\*.*?\*/|//[^\n]*|"(?:[^"\\\n]|\\[^\n])*"|'(?:[^'\\\n]|\\[^\n])*'|\w+|\s+|.""", re.DOTALL
)
IDENTITY = re.compile(r'" \w{1,40} (?:glyph|transition|programme) 1 ')
C_NAME = re.compile(r"SEQC_SHOW_[A-Za-z0-9_]{1,60}")


def c_skeleton(text: str) -> list[str]:
    """The tokens of a C source: comments left out, names of glyphs and machines made equal."""
    tokens = (token for token in C_TOKEN.findall(text) if not token.isspace())
    named = (IDENTITY.sub('" NAME 1 ', token) for token in tokens)
    return [C_NAME.sub("SHOW", t) for t in named if not t.startswith(("/*", "//"))]


def python_skeleton(text: str) -> str:
    """The tree of a Python source, its texts and the names of glyphs made equal."""
    named = re.sub(r"id='SHOW_\w{1,60}'", "id='SHOW'", ast.dump(ast.parse(text)))
    return re.sub(r"Constant\(value='(?:[^'\\]|\\.)*'", "Constant(value=''", named)


def json_skeleton(text: str) -> object:
    return _shape(json.loads(text))


def _shape(value: object) -> object:
    if isinstance(value, dict):
        return {key: _shape(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_shape(inner) for inner in value]
    return type(value)


def csv_skeleton(text: str) -> list[int]:
    rows = list(csv.reader(io.StringIO(text, newline="")))
    assert not any(cell.startswith(("=", "+", "@")) for row in rows for cell in row)
    return [len(row) for row in rows]


CELL_BAR = re.compile(r"(?<!\\)[|]")


def markdown_skeleton(text: str) -> list[tuple[str, int]]:
    """How every line begins, and how many cells a row of a table has."""
    return [(line[:1], len(CELL_BAR.findall(line))) for line in text.split("\n")]


SKELETONS: Mapping[str, Callable[[str], object]] = {
    **dict.fromkeys((".c", ".h", ".ino", ".cpp"), c_skeleton),
    ".py": python_skeleton,
    ".json": json_skeleton,
    ".csv": csv_skeleton,
    ".md": markdown_skeleton,
}


def other_skeleton(text: str) -> object:
    """The text itself, whose only names may be those of parts."""
    names = {**{value: key for key, value in NAMES.items()}}
    return re.sub(r"[A-Za-z]+", lambda word: names.get(word[0], word[0]), text)


@pytest.mark.quick(5)
@pytest.mark.parametrize("target", TARGETS)
def test_names_change_nothing_but_names(target: str, builds: tuple[Build, Build]) -> None:
    with mock.patch("seqc.codegen.rendering.number_of", return_value=NO_NUMBER):
        hostile, harmless = (rendered(target, build) for build in builds)
    assert list(hostile) == list(harmless)
    for name, text in hostile.items():
        assert all(line.isprintable() for line in re.split("[\t\n]", text)), name
        assert text.isascii() or name.endswith(".csv"), name
        skeleton = SKELETONS.get(Path(name).suffix, other_skeleton)
        assert skeleton(text) == skeleton(harmless[name]), name


@pytest.mark.quick(5)
@pytest.mark.parametrize("target", TARGETS)
def test_names_come_back_as_they_were(target: str, builds: tuple[Build, Build]) -> None:
    build = builds[0]
    read = codegen.read_back(seqc.targets_named([target])[0], rendered(target, build))
    assert read is None or read == build[1]


@pytest.mark.quick(1)
@pytest.mark.skipif(shutil.which("gcc") is None, reason="needs gcc")
@pytest.mark.parametrize("trigraphs", [(), ("-trigraphs",)])
def test_the_player_compiles_whatever_the_names(
    builds: tuple[Build, Build], tmp_path: Path, trigraphs: Sequence[str]
) -> None:
    files = rendered("c99", builds[0])
    codegen.write_files(files, tmp_path)
    strict = ("-std=c99", "-Wall", "-Wextra", "-Wpedantic", "-Werror", *trigraphs)
    for name in files:
        if name.endswith(".c"):
            command = ["gcc", *strict, "-c", str(tmp_path / name), "-o", str(tmp_path / "out.o")]
            done = subprocess.run(command, capture_output=True, text=True)
            assert done.returncode == 0, done.stderr


@pytest.mark.skipif(shutil.which("avr-gcc") is None, reason="needs avr-gcc")
def test_the_controllers_program_compiles_whatever_the_names(
    builds: tuple[Build, Build], tmp_path: Path
) -> None:
    codegen.write_files(rendered("avr", builds[0]), tmp_path)
    strict = ("-mmcu=atmega328p", "-DF_CPU=16000000UL", "-std=c99", "-Wall", "-Wextra", "-Werror")
    command = [
        "avr-gcc",
        *strict,
        "-Os",
        "-fsyntax-only",
        "main.c",
        "seqc_board.c",
        "seqc_player.c",
        "seqc_cap.c",
        "seqc_image.c",
        "seqc_tables.c",
    ]
    done = subprocess.run(command, capture_output=True, text=True, cwd=tmp_path)
    assert done.returncode == 0, done.stderr


def changed(*edits: str) -> str:
    """The board with each text replaced by the next, once."""
    text = BOARD
    for old, new in zip(edits[::2], edits[1::2], strict=True):
        assert old in text
        text = text.replace(old, new, 1)
    return text


def many(count: int, line: str) -> str:
    return BOARD + "".join(line.format(n) for n in range(count))


TOO_MUCH = {
    "a million cells": (
        changed("columns 2 rows 2", "columns 1000 rows 1000"),
        "1000000 cells, more than 4096",
    ),
    "many grids": (
        many(900, "grid q{0} {{ columns 64 rows 64 }}\nlane q{0} = shown <- slate\n"),
        "more than 16384 cells in all grids together",
    ),
    "deep selectors": (
        changed("pick(slate, chalk)", "pick(" * 20_000 + "slate" + ")" * 20_000),
        "selectors nest deeper than 16",
    ),
    "deep braces": (changed("{ tone dark }", "{" * 100_000), "found `{`"),
    "statements": (many(20_000, "item i{} {{ tone grey }}\n"), "more than 2000 statements"),
    "a long show": (changed('show "0"', f'show "{"0" * 900_000}"'), "more than 4096"),
    "programmes": (
        many(900, 'programme p{} {{ show "' + "0" * 1_000 + '" every 1 s }}\n'),
        "more than 64 programmes",
    ),
    "a long name": (changed("machine board", f"machine {'x' * 900_000}"), "more than 120"),
    "a long row": (changed("|#.| |.#|", f"|{'#' * 900_000}|"), "900000 columns by"),
    "rows": (changed("|#.| |.#|", "|#|" * 100_000), "100000 rows"),
    "quotes": (changed('show "0"', 'show "' + "\\" * 900_001), "no closing quote"),
    "bars": (f"{BOARD}{'|' * 900_000}", "expected a new statement"),
    "outputs": (changed("bits 10", "bits 1000000000"), "between 1 and 1024"),
    "digits": (changed("12 V 8", f"1{'0' * 900_000} V 8"), "more than 120 characters"),
    "an exponent": (changed("12 V 8", "1e999999999 V 8"), "between 100 mV and 1 kV"),
    "the file": (f"{BOARD}#{'x' * (1 << 20)}", "larger than 1048576 bytes"),
}

MOST_BYTES = 1 << 30
MOST_SECONDS = 60


def bounded() -> None:
    """Gives a process little memory and little of the processor's time."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))


def check_apart(path: Path) -> subprocess.CompletedProcess[str]:
    """`seqc check` in a process with bounds."""
    command = [sys.executable, "-c", "from seqc.cli.main import main; main()", "check", str(path)]
    return subprocess.run(command, capture_output=True, text=True, preexec_fn=bounded)


@pytest.mark.quick(1, 6)
@pytest.mark.parametrize("what", TOO_MUCH)
def test_too_much_is_told_within_bounds(what: str, tmp_path: Path) -> None:
    text, message = TOO_MUCH[what]
    (tmp_path / "board.lanes").write_text(text, "utf-8")
    done = check_apart(tmp_path / "board.lanes")
    assert done.returncode == 2, done.stderr[-500:]
    assert message in done.stderr
    assert max(map(len, done.stderr.split("\n"))) < 1_000
    assert done.stdout == ""


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A folder with things in it that are no files of its own, beside a secret."""
    (tmp_path / "secret").write_text("STARTFONT secret")
    folder = tmp_path / "home"
    folder.mkdir(parents=True)
    os.mkfifo(folder / "pipe")
    (folder / "folder").mkdir()
    for name, place in (("out", "../secret"), ("zero", "/dev/zero"), ("round", "round")):
        (folder / name).symlink_to(place)
    (folder / "up").symlink_to("..")
    return folder


@pytest.mark.quick(1, 8)
@pytest.mark.parametrize("use", ["include", "font"])
@pytest.mark.parametrize(
    "name",
    [
        "../secret",
        "folder/../../secret",
        "/etc/passwd",
        "/dev/zero",
        "pipe",
        "folder",
        ".",
        "..",
        "out",
        "up/secret",
        "zero",
        "round",
        "n" * 300,
        "file:///etc/passwd",
        "C:/secret",
    ],
)
def test_nothing_but_files_of_the_folder_is_read(use: str, name: str, home: Path) -> None:
    font = f'font other for g from "{name}" {{ ink slate paper chalk }}\n'
    text = f"{BOARD}{font if use == 'font' else f'include {chr(34)}{name}{chr(34)}'}"
    (home / "board.lanes").write_text(text, "utf-8")
    done = check_apart(home / "board.lanes")
    assert done.returncode == 2
    assert ": error: " in done.stderr
    assert "STARTFONT secret" not in done.stderr
    assert done.stdout == ""


def test_the_folder_of_a_machine_file_is_in_no_file_that_is_built(
    machines: tuple[Machine, Machine],
) -> None:
    folder = Path(machines[0].place.file).parent.name
    build = build_of(machines[0], TablesFor.GLYPH)
    texts = [text for target in TARGETS for text in rendered(target, build).values()]
    assert not any(folder in text or "board.lanes" in text for text in texts)
