"""Names from a stranger's machine file stay within the comments and strings of every program."""

from __future__ import annotations

import ast
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest
from firmware.handmade import frame, machine_of, table_set
from firmware.host import STRICT, needs, target, written

from seqc.codegen import render
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet, TablesFor

EVIL = "*/ #error out\n??/\n\\\n\"\"\"\n''' é \x00 $(touch /tmp/x) `id` {{ 1 }} #"


def hostile_board() -> tuple[Machine, TableSet]:
    """A machine with evil names everywhere: its own, of buses, actuators, tables and glyphs."""
    machine = machine_of(9, 4, low=True, name=EVIL)
    buses = tuple(replace(bus, name=f"{EVIL}{n}") for n, bus in enumerate(machine.buses))
    actuators = tuple(replace(actuator, name=EVIL) for actuator in machine.actuators)
    tables = table_set(machine, TablesFor.GLYPH, (EVIL, "b", EVIL + "c"))
    tables = replace(
        tables,
        tables=tuple(
            replace(one, name=f"{EVIL} {n}", shows=frame(f"{EVIL} {n}", EVIL))
            for n, one in enumerate(tables.tables)
        ),
    )
    return replace(machine, buses=buses, actuators=actuators), tables


@needs("avr-gcc", "make")
@pytest.mark.parametrize("name", ["avr", "avr_i2c"])
def test_the_firmware_compiles_without_a_warning(name: str, tmp_path: Path) -> None:
    folder = written(tmp_path, render(target(name), *hostile_board()))
    done = subprocess.run(["make", "-s"], cwd=folder, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert not Path("/tmp/x").exists()


@needs("gcc")
def test_the_portable_player_compiles_without_a_warning(tmp_path: Path) -> None:
    folder = written(tmp_path, render(target("c99"), *hostile_board()))
    for source in sorted(path.name for path in folder.glob("*.c")):
        words = ["gcc", *STRICT, "-trigraphs", "-c", str(folder / source), "-o", "/dev/null"]
        done = subprocess.run(words, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("name", ["c99", "avr", "avr_i2c"])
def test_the_headers_that_users_read_keep_to_a_hundred_columns(name: str) -> None:
    machine, tables = hostile_board()
    rendered = render(target(name), replace(machine, name="long_name_" * 12), tables)
    header = rendered["seqc_player.h"]
    assert max(map(len, header.split("\n"))) <= 100


@pytest.mark.parametrize("name", ["arduino", "arduino_i2c"])
def test_the_sketch_has_no_name_outside_its_comments(name: str) -> None:
    (sketch,) = [
        text for file, text in render(target(name), *hostile_board()).items() if ".ino" in file
    ]
    bare = sketch
    while "/*" in bare:
        before, _, rest = bare.partition("/*")
        bare = before + rest.partition("*/")[2]
    assert "#error out" not in bare
    assert "touch" not in bare


def test_the_modules_are_modules_of_nothing_else() -> None:
    rendered = render(target("micropython"), *hostile_board())
    for text in (text for file, text in rendered.items() if file.endswith(".py")):
        tree = ast.parse(text)
        strings = [node.value for node in ast.walk(tree) if isinstance(node, ast.Constant)]
        assert not any("touch" in value for value in strings if isinstance(value, str))
        assert text.isascii()
