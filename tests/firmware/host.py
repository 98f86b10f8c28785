"""Compiles a build of the `c99` target for this machine and plays scripts with it."""

from __future__ import annotations

import functools
import os
import shutil
import subprocess
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import IntEnum
from pathlib import Path

import pytest

from seqc.codegen import Target, render, targets
from seqc.machine.model import Machine
from seqc.machine.steptable import StepTable
from seqc.machine.tracks import Tables

HERE = Path(__file__).parent
STRICT = ("-std=c99", "-Wall", "-Wextra", "-Wpedantic", "-Werror")

Edge = tuple[int, int]


class State(IntEnum):
    """The states of the player, in the order of its header."""

    OFF = 0
    HOMING = 1
    READY = 2
    BUSY = 3
    PAUSED = 4
    STOPPED = 5
    FAULT = 6


def needs(*programs: str) -> pytest.MarkDecorator:
    """Skips a test where a program or a file is missing, except in CI, where none may be."""
    missing = [name for name in programs if not shutil.which(name) and not Path(name).is_file()]
    skipped = bool(missing) and not os.environ.get("SEQC_NO_SKIP")
    return pytest.mark.skipif(skipped, reason=f"not installed: {' '.join(missing)}")


@functools.cache
def target(name: str) -> Target:
    """A target of ours."""
    return next(target for target in targets() if target.name == name)


def written(folder: Path, files: dict[str, str]) -> Path:
    """A folder with these files in it."""
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode())
    return folder


@dataclass(frozen=True)
class Heard:
    """What a script made the player say: words on the outputs, and the other answers in order."""

    edges: tuple[Edge, ...]
    answers: tuple[tuple[str, ...], ...]

    def answer(self, verb: str) -> list[list[int]]:
        """The numbers of every answer of one kind."""
        return [[int(word) for word in answer[1:]] for answer in self.answers if answer[0] == verb]

    @property
    def said(self) -> list[str]:
        """The lines that were said on the serial line."""
        return "".join(chr(code) for (code,) in self.answer("say")).splitlines()

    @property
    def states(self) -> list[State]:
        """Every state that was told."""
        return [State(numbers[0]) for numbers in self.answer("state")]


@dataclass(frozen=True)
class HostPlayer:
    """A player compiled for this machine."""

    program: Path

    def play(self, script: Iterable[str]) -> Heard:
        """Run a script and take apart what comes out."""
        done = subprocess.run(
            [self.program],
            input="\n".join(script) + "\n",
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        lines = [tuple(line.split()) for line in done.stdout.splitlines()]
        edges = [(int(words[1]), int(words[2], 16)) for words in lines if words[0] == "out"]
        return Heard(tuple(edges), tuple(words for words in lines if words[0] != "out"))


def compiled(folder: Path, files: dict[str, str], *flags: str) -> HostPlayer:
    """The player of a build, compiled with every warning an error."""
    written(folder, files)
    program = folder / "player"
    sources = [*sorted(folder.glob("seqc_*.c")), HERE / "harness.c"]
    done = subprocess.run(
        ["gcc", *STRICT, *flags, f"-I{folder}", *map(str, sources), "-o", str(program)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return HostPlayer(program)


def player_for(folder: Path, machine: Machine, tables: Tables, *flags: str) -> HostPlayer:
    """The player of a table set, compiled."""
    return compiled(folder, render(target("c99"), machine, tables), *flags)


def edges_of(table: StepTable, start_us: int = 0) -> list[Edge]:
    """The times and words of a table that starts at a given time."""
    return [(start_us + step.at_us, step.word) for step in table.steps]


def changes(edges: Sequence[Edge]) -> list[Edge]:
    """The edges without those that change nothing."""
    return [edge for rank, edge in enumerate(edges) if not rank or edge[1] != edges[rank - 1][1]]
