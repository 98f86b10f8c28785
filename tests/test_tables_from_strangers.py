"""Step tables that somebody else has written, or that were damaged on the way."""

from __future__ import annotations

import json
import random
import resource
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result
from examples_on_disk import machine_file, machine_of, tables_of
from firmware import handmade
from firmware.handmade import table_set
from firmware.host import target as host_target

import seqc
from seqc.cli.main import main
from seqc.codegen.image import parse
from seqc.codegen.rendering import build_of
from seqc.machine.steptable import TablesFor
from seqc.simulator.trial import trial

READABLE = [target.name for target in seqc.known_targets() if target.reads]
VALUES: tuple[object, ...] = (None, -1, 10**30, 1.5, "x", "-0x1", "\x00", [], {}, [[]], True)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the berth board, and a folder of tables for each target that is read back."""
    made = tmp_path_factory.mktemp("build")
    words = [word for name in READABLE for word in ("--target", name)]
    build = ("--out", str(made / "out"), "--tables-for", "glyph", "--show", "01", *words)
    result = run("build", str(machine_file("berth_board", made)), *build)
    assert result.exit_code == 0, result.output
    return made


def run(*words: str) -> Result:
    """One call of the command, with no error of ours passed over."""
    result = CliRunner().invoke(main, words)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def simulate(folder: Path, tables: Path) -> Result:
    return run("simulate", str(folder / "berth_board.lanes"), "--tables", str(tables))


def places(value: Any, place: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:  # noqa: ANN401
    """Every place in a document, of its lists only the first two."""
    if place:
        yield place
    if isinstance(value, dict | list):
        for key in value if isinstance(value, dict) else range(min(len(value), 2)):
            yield from places(value[key], (*place, key))


def test_a_document_with_anything_anywhere_ends_in_a_status(folder: Path, tmp_path: Path) -> None:
    text = (folder / "out" / "json" / "seqc_tables.json").read_text("utf-8")
    found = [place for place in places(json.loads(text)) if place[0] != "outputs"]
    chosen = random.Random(7).sample([(p, v) for p in found for v in VALUES], 60)
    (tmp_path / "json").mkdir()
    for place, value in chosen:
        document = json.loads(text)
        inner = document
        for key in place[:-1]:
            inner = inner[key]
        inner[place[-1]] = value
        (tmp_path / "json" / "seqc_tables.json").write_text(json.dumps(document), "utf-8")
        result = simulate(folder, tmp_path / "json")
        assert result.exit_code in (0, 1, 2), (place, value)
        assert all(line.isprintable() for line in result.output.split("\n")), (place, value)


@pytest.mark.parametrize("text", ["", "[]", "null", "[" * 100_000, '{"tables": 1}', "\x00"])
def test_a_document_that_is_none_is_bad_tables(text: str, folder: Path, tmp_path: Path) -> None:
    (tmp_path / "seqc_tables.json").write_text(text, "utf-8")
    result = simulate(folder, tmp_path)
    assert result.exit_code == 2
    assert "the step tables can't be read: " in result.stderr


@pytest.mark.quick(3)
@pytest.mark.parametrize("target", READABLE)
def test_damaged_bytes_end_in_a_status(target: str, folder: Path, tmp_path: Path) -> None:
    chance = random.Random(target)
    for number in range(12):
        copy = tmp_path / str(number) / target
        shutil.copytree(folder / "out" / target, copy)
        names = seqc.targets_named([target])[0].reads
        path = copy / chance.choice(names)
        data = bytearray(path.read_bytes())
        for _ in range(chance.choice((1, 1, 4))):
            data[chance.randrange(len(data))] = chance.choice(b'0189abfxXF,\n"[]{}#\x00\xff')
        path.write_bytes(data)
        assert simulate(folder, copy).exit_code in (0, 1, 2)


def test_tables_of_another_machine_are_a_fault(tmp_path: Path) -> None:
    berth = machine_of("berth_board", tmp_path)
    tables = tables_of(berth, TablesFor.GLYPH)
    assert not seqc.replay(berth, tables).faults
    (wide,) = seqc.replay(berth, replace(tables, width=25)).faults
    assert wide.what == "the tables are for 25 outputs, and the machine has 24"
    (level,) = seqc.replay(berth, replace(tables, idle_word=0)).faults
    assert level.what.startswith("the levels at which no output is active are 0x0, and those of")


def test_a_repeating_programme_is_tried_for_two_rounds(tmp_path: Path) -> None:
    # Its first round begins with a picture that isn't known; the second is what it goes on with.
    tables = tables_of(machine_of("berth_board", tmp_path), TablesFor.PROGRAMME)
    assert tables.repeat_from is not None
    again = tables.tables[tables.repeat_from :]
    assert again
    assert list(trial(tables)) == [*tables, *again]
    once = replace(tables, repeat_from=None)
    assert list(trial(once)) == list(once)


MOST_BYTES = 1 << 29
LARGE = {
    "images that never begin": ("micropython", "\nIMAGE = (" * 20_000),
    "images that never end": ("micropython", "\nIMAGE = (\n" * 20_000),
    "images in C that never begin": ("c99", "seqc_image[SEQC_IMAGE_BYTES] " * 7_000),
    "images in C that never end": ("c99", "seqc_image[SEQC_IMAGE_BYTES] = {\n" * 7_000),
    "comments that never end": ("c99", "seqc_image[SEQC_IMAGE_BYTES] = {\n" + "/*" * 100_000),
    "spaces in a note": ("c99", '/* seqc machine "x"' + " " * 200_000 + "x"),
    "spaces in a module's note": ("micropython", '# seqc table ["x"' + " " * 200_000 + "]\n"),
    "lines after a note": ("c99", "/* seqc machine 1" + "\n" * 200_000),
    "notes": ("c99", "/* seqc table [1, [], []] */\n" * 7_000),
    "a long word": ("csv", "table,at_us,word,x\nhome,0," + "f" * 200_000 + ","),
    "records": ("ihex", ":\n" * 100_000),
    "deep lists": ("json", "[" * 200_000),
    "digits": ("json", '{"tables": ' + "9" * 200_000 + "}"),
    "lists": ("json", "[" + "[]," * 20_000_000 + "[]]"),
    "rows": ("csv", "\n" * 60_000_000),
    "cells": ("csv", "," * 60_000_000),
    "empty records": ("ihex", "\n" * 60_000_000),
    "numbers": ("json", "[" + "0.5," * 15_000_000 + "0]"),
}


def bounded() -> None:
    """Gives a process half a gigabyte, and ten seconds of the processor's time."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (10, 10))


@pytest.mark.quick(2, 14)
@pytest.mark.parametrize("what", LARGE)
def test_large_tables_are_refused_at_once(what: str, folder: Path, tmp_path: Path) -> None:
    target, text = LARGE[what]
    copy = tmp_path / target
    shutil.copytree(folder / "out" / target, copy)
    (copy / seqc.targets_named([target])[0].reads[0]).write_text(text)
    words = ("simulate", str(folder / "berth_board.lanes"), "--tables", str(copy))
    command = [sys.executable, "-c", "from seqc.cli.main import main; main()", *words]
    done = subprocess.run(command, capture_output=True, text=True, preexec_fn=bounded)
    assert done.returncode == 2, done.stderr[-300:]
    assert "the step tables can't be read: " in done.stderr
    assert len(done.stderr) < 1_000


def test_tables_that_overlap_are_refused() -> None:
    # As many steps in each of many tables as there are in all would take memory without end.
    machine = handmade.machine_of(4)
    image = build_of(host_target("c99"), machine, table_set(machine)).image
    many = replace(image, starts=(0, *image.starts[-1:] * 2, 0, *image.starts[-1:]))
    with pytest.raises(ValueError, match="follow one another"):
        parse(many.data)
