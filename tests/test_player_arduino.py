"""The `arduino` target compiles as it stands against the boards' core, and plays its tables."""

from __future__ import annotations

import subprocess
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from firmware.emulated import TOOLS, Controller, build_emulator, settled
from firmware.handmade import machine_of, table, table_set
from firmware.host import changes, edges_of, needs, target, written
from firmware.tracked import small_tracks

from seqc.codegen import render
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet, TablesFor
from seqc.machine.tracks import Tables

AVR_CORE = Path("/usr/share/arduino/hardware/arduino/avr")
pytestmark = needs(*TOOLS, "avr-g++", str(AVR_CORE / "cores" / "arduino" / "Arduino.h"))

FLAGS = ["-mmcu=atmega328p", "-DF_CPU=16000000L", "-DARDUINO=10819", "-DARDUINO_ARCH_AVR", "-Os"]
FLAGS += ["-ffunction-sections", "-fdata-sections", f"-I{AVR_CORE}/cores/arduino"]
FLAGS += [f"-I{AVR_CORE}/variants/standard", f"-I{AVR_CORE}/libraries/Wire/src"]
STRICT = ["-Wall", "-Wextra", "-Werror"]
LATE_US = 700
"""A pass of the sketch's loop, the chain of registers shifted by hand, and the clock's grain."""


def tool(*words: str | Path) -> None:
    done = subprocess.run(list(words), capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def compiled(source: Path, folder: Path, strict: Sequence[str]) -> Path:
    """One object file; sketches and the core's C++ as C++, the rest as C."""
    made = folder / f"{source.name}.o"
    plain = source.suffix in (".c", ".S")
    language = ["-x", "c++", "-include", "Arduino.h"] if source.suffix == ".ino" else []
    standard = "-std=gnu11" if plain else "-std=gnu++11"
    compiler = "avr-gcc" if plain else "avr-g++"
    extra = [] if plain else ["-fno-exceptions", "-fno-threadsafe-statics"]
    tool(compiler, *FLAGS, standard, *extra, *strict, *language, "-c", source, "-o", made)
    return made


@pytest.fixture(scope="module")
def core(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """The objects of the boards' core, which wants a constant that this compiler's C++ lacks."""
    folder = tmp_path_factory.mktemp("core")
    sources = sorted((AVR_CORE / "cores" / "arduino").iterdir())
    return [
        compiled(source, folder, ["-w", "-DDECIMAL_DIG=17"])
        for source in sources
        if source.suffix in (".c", ".cpp", ".S")
    ]


def sketch(folder: Path, machine: Machine, tables: Tables, name: str = "arduino") -> list[Path]:
    """The objects of the sketch, compiled with every warning an error."""
    written(folder, render(target(name), machine, tables))
    sources = sorted(path for path in folder.iterdir() if path.suffix in (".ino", ".c"))
    return [compiled(source, folder, STRICT) for source in sources]


def short_tables(machine: Machine) -> TableSet:
    made = table_set(machine)
    shown = tuple(
        replace(one, steps=table(machine, one.name, [n, n + 3]).steps, length_us=140_000)
        for n, one in enumerate(made.tables)
    )
    return replace(made, home=table(machine, "home", [1]), tables=shown)


def pins_machine(bits: int) -> Machine:
    machine = machine_of(bits, low=True)
    return replace(machine, buses=(replace(machine.buses[0], shift_register=False),))


@pytest.mark.parametrize("bits", [(20,), (5, 10)])
def test_the_sketch_for_port_expanders_compiles(tmp_path: Path, bits: tuple[int, ...]) -> None:
    machine = machine_of(*bits, low=True)
    assert len(sketch(tmp_path, machine, table_set(machine), "arduino_i2c")) == 6


@pytest.mark.quick(1)
@pytest.mark.parametrize("tables_for", list(TablesFor))
def test_the_sketch_compiles_for_tables_of_every_kind(
    tmp_path: Path, tables_for: TablesFor
) -> None:
    for number, machine in enumerate((pins_machine(12), machine_of(24), machine_of(5, 10))):
        folder = tmp_path / str(number)
        assert len(sketch(folder, machine, table_set(machine, tables_for))) == 6


@pytest.mark.parametrize("name", ["arduino", "arduino_i2c"])
def test_the_sketch_compiles_for_tracks(name: str, tmp_path: Path) -> None:
    machine = machine_of(14, low=True, longest_us=60_000)
    assert len(sketch(tmp_path, machine, small_tracks(machine), name)) == 8


WIRINGS = {
    "chain": ("chain", "16", "-"),
    "pins": ("chain", "0", "PD2,PD3,PD4,PD5,PD6,PD7,PB0,PB1"),
}


@pytest.mark.quick(1)
@pytest.mark.parametrize("wired", WIRINGS)
def test_the_sketch_plays_its_tables(
    wired: str, core: list[Path], tmp_path: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    machine = machine_of(16, low=True) if wired == "chain" else pins_machine(8)
    tables = short_tables(machine)
    objects = sketch(tmp_path, machine, tables)
    tool("avr-gcc", *FLAGS, "-Wl,--gc-sections", *objects, *core, "-o", tmp_path / "seqc.elf")
    wiring = WIRINGS[wired]
    emulator = build_emulator(tmp_path_factory.mktemp("emulator"))
    controller = Controller(emulator, tmp_path, machine, wiring)
    ran = controller.run(["for 250000", "send status", "send show 1", "for 150000", "send status"])
    planned = [(0, machine.idle_word), *edges_of(tables.home)]
    wanted = [word for _, word in changes(planned)[1:]]
    planned = changes([(0, machine.idle_word), *edges_of(tables.tables[1])])[1:]
    shown = settled(ran.edges, within_us=400)[len(wanted) :]
    assert [word for _, word in settled(ran.edges, within_us=400)][: len(wanted)] == wanted
    assert [word for _, word in shown] == [word for _, word in planned]
    offset = shown[0][0] - planned[0][0]
    for (at, _), (due, _) in zip(shown, planned, strict=True):
        assert -LATE_US <= at - offset - due <= LATE_US * len(planned)
    assert [answer.split()[:2] for answer in ran.answers] == [
        ["status", "ready"],
        ["show", "busy"],
        ["status", "ready"],
    ]
