"""Builds the `avr` target and runs it in simavr, with a model of what hangs on its pins."""

from __future__ import annotations

import signal
import subprocess
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from vcdvcd import VCDVCD  # type: ignore[import-untyped]

from firmware.host import HERE, written
from seqc.codegen import Target, render
from seqc.codegen.rendering import build_of
from seqc.codegen.view import Build
from seqc.machine.model import Machine
from seqc.machine.tracks import Tables

# vcdvcd lets a pipe or socket whose other side is closed end the whole program.
signal.signal(signal.SIGPIPE, signal.SIG_IGN)

PINS = DATA, CLOCK, LATCH = ("PB3", "PB5", "PB2")
HEADERS = ("/usr/include/simavr/sim_avr.h", "/usr/include/libelf.h")
TOOLS = ("gcc", "avr-gcc", "simavr", "make", *HEADERS)


@dataclass(frozen=True)
class Ran:
    """What a script made an emulated controller do; times in microseconds since its start.

    `masked` are the longest times for which interrupts were off.
    """

    edges: tuple[tuple[float, int], ...]
    resets: tuple[float, ...]
    marks: tuple[float, ...]
    said: str
    masked: tuple[float, ...] = ()

    @property
    def answers(self) -> list[str]:
        """The lines that came over the serial line."""
        return self.said.splitlines()


def build_emulator(folder: Path) -> Path:
    """The emulator, compiled."""
    program = folder / "emulator"
    source, include = str(HERE / "emulator.c"), "-I/usr/include/simavr"
    libraries = ("-lsimavr", "-lelf")
    words = ["gcc", "-std=gnu99", "-O2", include, source, "-o", str(program), *libraries]
    subprocess.run(words, check=True)
    return program


def wiring_of(build: Build) -> tuple[str, str, str]:
    """What the emulator is to hang on the pins."""
    board = build.board
    kind = "i2c" if build.target.options["chain"] == "i2c" else "chain"
    pins = ",".join(pin.name for pin in board.pins)
    return kind, str(board.chain.bits if board.chain else 0), pins or "-"


@dataclass(frozen=True)
class Controller:
    """A build for an ATmega328P."""

    emulator: Path
    folder: Path
    machine: Machine
    wiring: tuple[str, str, str]

    def run(self, script: Iterable[str], waves: Path | None = None, megahertz: int = 16) -> Ran:
        """Run a script; see emulator.c."""
        size = (self.machine.width + 7) // 8
        idle = f"{self.machine.idle_word:0{2 * size}x}"
        done = subprocess.run(
            [
                self.emulator,
                self.folder / "seqc.elf",
                *self.wiring,
                idle,
                *([waves] if waves else []),
            ],
            input="\n".join(script) + "\n",
            capture_output=True,
            text=True,
            check=False,
            env={"MEGAHERTZ": str(megahertz)},
        )
        assert done.returncode == 0, done.stderr
        lines = [line.split() for line in done.stdout.splitlines()]
        mask = (1 << self.machine.width) - 1
        return Ran(
            tuple((int(w[1]) / megahertz, int(w[2], 16) & mask) for w in lines if w[0] == "out"),
            tuple(int(words[1]) / megahertz for words in lines if words[0] == "reset"),
            tuple(int(words[1]) / megahertz for words in lines if words[0] == "mark"),
            "".join(chr(int(words[1])) for words in lines if words[0] == "say"),
            tuple(int(words[1]) / megahertz for words in lines if words[0] == "masked"),
        )

    def size(self) -> tuple[int, int]:
        """The bytes of flash and of RAM that the whole program takes, by avr-size."""
        told = subprocess.run(
            ["avr-size", self.folder / "seqc.elf"], capture_output=True, text=True, check=True
        )
        text, data, bss = map(int, told.stdout.splitlines()[1].split()[:3])
        return text + data, data + bss

    def address(self, symbol: str) -> int:
        """Where a symbol lies in the flash."""
        told = subprocess.run(
            ["avr-nm", self.folder / "seqc.elf"], capture_output=True, text=True, check=True
        )
        rows = [line.split() for line in told.stdout.splitlines()]
        return next(int(row[0], 16) for row in rows if row[-1].split(".")[0] == symbol)


def controller(
    emulator: Path,
    folder: Path,
    target: Target,
    machine: Machine,
    tables: Tables,
    serial: bool = True,
    wait: bool = True,
) -> Controller:
    """A build of a table set, compiled with every warning an error.

    Where there is a serial line, a programme waits for its command unless it is told not to.
    """
    written(folder, render(target, machine, tables))
    done = subprocess.run(
        ["make", "-s", f"SERIAL={'1' if serial else ''}", f"WAIT={'1' if serial and wait else ''}"],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return Controller(emulator, folder, machine, wiring_of(build_of(target, machine, tables)))


def chain_in_waves(path: Path, bits: int) -> list[tuple[float, int]]:
    """The words that a chain shows, read from simavr's waveform of the port pins alone."""
    dump = VCDVCD(str(path))
    scale = float(dump.timescale["timescale"]) * 1e6
    names = {pin: name for name in dump.signals for pin in PINS if name.endswith(pin)}
    changes = sorted(
        (at * scale, PINS.index(pin), pin, value == "1")
        for pin, name in names.items()
        for at, value in dump[name].tv
    )
    level = dict.fromkeys(PINS, False)
    shifted = 0
    shown: list[tuple[float, int]] = []
    for at, _, pin, high in changes:
        rises = high and not level[pin]
        level[pin] = high
        if pin == CLOCK and rises:
            shifted = (shifted << 1 | level[DATA]) & ((1 << 8 * ((bits + 7) // 8)) - 1)
        if pin == LATCH and rises:
            shown.append((at, shifted & ((1 << bits) - 1)))
    return shown


def settled(edges: Sequence[tuple[float, int]], within_us: float = 2.0) -> list[tuple[float, int]]:
    """The edges with those of one moment made one: ports of one word change one after another."""
    found: list[tuple[float, int]] = []
    for at, word in edges:
        if found and at - found[-1][0] <= within_us:
            found[-1] = (found[-1][0], word)
        else:
            found.append((at, word))
    return found
