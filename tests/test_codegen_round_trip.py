"""What is written holds the whole table set, whatever its names, and is safe where it stands."""

from __future__ import annotations

import ast
import contextlib
import csv
import functools
import io
import json
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from firmware.handmade import frame, machine_of, random_table, table, table_set
from firmware.host import edges_of, needs, player_for, target
from hypothesis import given, settings
from hypothesis import strategies as st

from seqc.codegen import read_back, render, targets
from seqc.codegen.checks import rest_us
from seqc.codegen.crc import crc16
from seqc.codegen.image import HEAD, MAGIC, VERSION, parse
from seqc.codegen.names import identifiers, note, plain, spreadsheet
from seqc.machine.model import Machine
from seqc.machine.steptable import StepTable, TableSet, TablesFor

READABLE = [target.name for target in targets() if target.reads]
READERS = {target.reader: target.name for target in targets() if target.reads}

HOSTILE = (
    "*/ int main; /*",
    "ends in a backslash\\",
    "two\nlines",
    "carriage\rreturn",
    "what??/",
    '"quoted"',
    "'single'",
    "é",
    "☂\U0001f600",
    "\x00\x1b[2J",
    "=1+1",
    "@sum",
    "-2",
    "+3",
    "int",
    "a b",
    "a_b",
    "a-b",
    "{{ build }}",
    "{% raw %}",
    '#include "x"',
    "",
    "x" * 500,
    "y" * 500,
    "# seqc table [1]",
    "\u2028line",
    "'='",
)


def hostile_set(tables_for: TablesFor) -> tuple[Machine, TableSet]:
    machine = machine_of(6, low=True, name='board */ "\n??/')
    made = table_set(machine, tables_for, HOSTILE)
    home = replace(made.home, name="# seqc home */")
    return machine, replace(made, home=home, machine=machine.name)


@st.composite
def table_sets(draw: st.DrawFn) -> tuple[Machine, TableSet]:
    """Any machine of one or two buses with any names, times and words."""
    bits = draw(st.lists(st.integers(1, 14), min_size=1, max_size=2))
    machine = machine_of(*bits, low=draw(st.booleans()), name=draw(st.text(max_size=8)))
    tables_for = draw(st.sampled_from(TablesFor))
    names = draw(st.lists(st.text(max_size=6), min_size=2, max_size=7, unique=True))
    tables: list[StepTable] = []
    for name in names:
        made = random_table(machine, name, draw(st.integers(0, 1000)), draw(st.integers(0, 5)))
        shows = frame(draw(st.text(max_size=4)), draw(st.text(max_size=4)))
        after = draw(st.sampled_from([(), shows, frame("x")]))
        tables.append(replace(made, shows=shows, after=after))
    repeat = draw(st.none() | st.integers(0, len(names) - 2))
    clear = replace(tables[0], name="\x01clear") if draw(st.booleans()) else None
    return machine, TableSet(
        machine.name,
        tables_for,
        machine.width,
        machine.idle_word,
        draw(st.integers(0, 10**6)),
        tables[0],
        tuple(tables[1:]),
        repeat,
        draw(st.integers(0, 10**6)),
        clear,
    )


@pytest.mark.quick(1)
@pytest.mark.parametrize("name", READERS.values())
@settings(max_examples=60, deadline=None)
@given(case=table_sets())
def test_reading_back_gives_the_same_table_set(name: str, case: tuple[Machine, TableSet]) -> None:
    machine, tables = case
    assert read_back(target(name), render(target(name), machine, tables)) == tables


@functools.cache
def small_build(name: str) -> dict[str, str]:
    machine = machine_of(6, low=True)
    return render(target(name), machine, table_set(machine))


@pytest.mark.parametrize("name", READERS.values())
@settings(max_examples=150, deadline=None)
@given(data=st.data())
def test_spoilt_files_are_refused_or_read(name: str, data: st.DataObject) -> None:
    files = dict(small_build(name))
    file = data.draw(st.sampled_from(target(name).reads))
    text = files[file]
    at = data.draw(st.integers(0, len(text)))
    end = data.draw(st.integers(at, min(len(text), at + 20)))
    files[file] = text[:at] + data.draw(st.text(max_size=8)) + text[end:]
    with contextlib.suppress(ValueError):
        read_back(target(name), files)


@settings(max_examples=300, deadline=None)
@given(head=st.binary(min_size=HEAD.size - 3, max_size=HEAD.size - 3), rest=st.binary(max_size=60))
def test_an_image_with_any_head_is_refused_or_read(head: bytes, rest: bytes) -> None:
    data = MAGIC + bytes([VERSION]) + head + rest
    whole = data + crc16(data).to_bytes(2, "little")
    with contextlib.suppress(ValueError, LookupError):
        assert len(parse(whole).runs) < 1_000


@pytest.mark.quick(3)
@pytest.mark.parametrize("tables_for", list(TablesFor))
@pytest.mark.parametrize("name", READABLE)
def test_hostile_names_come_back_whole(name: str, tables_for: TablesFor) -> None:
    machine, tables = hostile_set(tables_for)
    assert read_back(target(name), render(target(name), machine, tables)) == tables


@pytest.mark.parametrize("name", [target.name for target in targets()])
def test_hostile_names_leave_no_character_that_does_not_print(name: str) -> None:
    machine, tables = hostile_set(TablesFor.GLYPH)
    for file, text in render(target(name), machine, tables).items():
        assert all(line.isprintable() for line in text.replace("\t", " ").split("\n"))
        assert text.isascii() or file.endswith((".csv", ".md"))


@needs("gcc")
@pytest.mark.parametrize("tables_for", [TablesFor.GLYPH, TablesFor.TRANSITION])
def test_hostile_names_compile_and_run(tmp_path: Path, tables_for: TablesFor) -> None:
    machine, tables = hostile_set(tables_for)
    player = player_for(tmp_path, machine, tables)
    heard = player.play(["home", "play 0 99", "show 0", "play 0 99", "seen"])
    assert heard.answer("seen") == [[0]]
    assert list(heard.edges[1:]) == [
        *edges_of(tables.home, rest_us(machine)),
        *edges_of(tables.tables[0], rest_us(machine) + tables.home.length_us),
    ]


def test_no_cell_of_the_csv_is_a_formula() -> None:
    machine, tables = hostile_set(TablesFor.GLYPH)
    for text in render(target("csv"), machine, tables).values():
        for row in csv.reader(io.StringIO(text, newline="")):
            assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in row)


@given(st.text())
def test_a_note_is_safe_in_any_comment_and_comes_back(text: str) -> None:
    made = note(text)
    assert json.loads(made) == text
    assert not re.search(r"\*|/|\?|[^ -~]", made)
    assert plain(spreadsheet(text)) == text


@given(st.lists(st.text(), max_size=20))
def test_identifiers_differ_and_are_identifiers(texts: list[str]) -> None:
    made = identifiers(texts)
    assert len(set(made)) == len(texts)
    assert all(ast.parse(f"x_{name} = 0") and name.isascii() for name in made)


SEEDED = """
import sys; sys.path.insert(0, "tests")
from firmware.handmade import *
from seqc.codegen import render, targets
machine = machine_of(9, 4, low=True)
for tables_for in TablesFor:
    for target in targets():
        print(render(target, machine, table_set(machine, tables_for, ("é", "b", "c"))))
"""


@pytest.mark.thorough
def test_builds_under_two_hash_seeds_are_equal() -> None:
    root = Path(__file__).parent.parent
    built = {
        subprocess.run(
            [sys.executable, "-c", SEEDED],
            env={"PYTHONHASHSEED": seed},
            cwd=root,
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "77")
    }
    assert len(built) == 1
    assert len(built.pop()) > 10_000


def test_equal_steps_are_kept_once_where_that_is_smaller() -> None:
    machine = machine_of(24)
    pulses = [0, 2, 4, 6, 8] * 8
    made = replace(
        table_set(machine),
        tables=tuple(table(machine, f"t{n}", pulses, shows=frame(str(n))) for n in range(10)),
    )
    text = render(target("c99"), machine, made)["seqc_tables.h"]
    (size,) = re.findall(r"SEQC_IMAGE_BYTES (\d+)U", text)
    steps = sum(len(table.steps) for table in made)
    assert int(size) < steps * 2, "one byte a step, and the few records that differ"
    assert "SEQC_INDEX_BYTES 1U" in text
