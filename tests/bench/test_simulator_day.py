"""How long it takes to replay a day of a six-numeral clock: 86,400 frames on grids of 4 by 6.

Run with `pytest tests/bench/test_simulator_day.py`. The tables are written by hand, numeral by
numeral, so that nothing but the simulator is measured: in the day only the numerals that change are
loaded; in the hundred frames all six are, and no table has been seen before.
"""

from __future__ import annotations

import random
from collections.abc import Iterator

from boards import board, grid_of
from handwritten import Patient, written
from pytest_benchmark.fixture import BenchmarkFixture

from seqc.machine.model import Machine
from seqc.machine.parts import Grid
from seqc.machine.steptable import StepTable
from seqc.simulator import Replay, check, replay

GRIDS = [grid_of(6, 4, name=name) for name in ("h10", "h1", "m10", "m1", "s10", "s1")]
MACHINE = board(GRIDS, limit_ua=80_000_000, stock=None, fall_us=150_000)
DAY_S = 86_400
TICK_MS = 1_000
PASS_MS = 150
NUMERALS = [
    tuple(random.Random(numeral).choices(("slate", "chalk"), k=24)) for numeral in range(10)
]
GLYPHS = {
    (grid.name, str(numeral)): kinds for grid in GRIDS for numeral, kinds in enumerate(NUMERALS)
}


def loading(grid: Grid, kinds: tuple[str, ...]) -> Iterator[str]:
    """The lines that load a numeral column by column, every selector asserted, and change it."""
    rows = range(1, grid.rows + 1)
    for column in range(1, grid.columns + 1):
        start = 20 + PASS_MS * (column - 1)
        for row in rows:
            kind = kinds[(row - 1) * grid.columns + column - 1]
            yield f"{start} {grid.name}.pick1.r{row} {'rest' if kind == 'slate' else 'thrown'}"
        yield f"{start + 28} {grid.name}.drop.c{column} thrown"
        yield f"{start + 128} {grid.name}.drop.c{column} rest"
    yield f"690 {grid.name}.swap thrown"
    yield f"840 {grid.name}.swap rest"


def clock() -> Iterator[tuple[str, ...]]:
    """The numerals of every second of a day."""
    for second in range(DAY_S):
        hours, rest = divmod(second, 3600)
        yield tuple(f"{hours:02}{rest // 60:02}{rest % 60:02}")


def home(machine: Machine) -> StepTable:
    patient = Patient(machine)
    patient.home()
    return patient.table("home")


def ticks() -> Iterator[StepTable]:
    """Home, then a table for every second; equal changes share one table."""
    yield home(MACHINE)
    known: dict[tuple[tuple[int, str], ...], StepTable] = {}
    shown: tuple[str, ...] = ("",) * len(GRIDS)
    for numerals in clock():
        changes = tuple(
            (n, b) for n, (a, b) in enumerate(zip(shown, numerals, strict=True)) if a != b
        )
        shown = numerals
        if changes not in known:
            lines = [line for n, b in changes for line in loading(GRIDS[n], NUMERALS[int(b)])]
            shows = tuple((GRIDS[n].name, b) for n, b in changes)
            known[changes] = written(MACHINE, "\n".join(lines), TICK_MS, "tick", shows)
        yield known[changes]


def afresh(count: int) -> list[StepTable]:
    """Home, then tables that load six numerals at random."""
    dice = random.Random(5)
    tables = [home(MACHINE)]
    for _ in range(count):
        pictures = [tuple(dice.choices(("slate", "chalk"), k=24)) for _ in GRIDS]
        lines = [
            line
            for grid, picture in zip(GRIDS, pictures, strict=True)
            for line in loading(grid, picture)
        ]
        tables.append(written(MACHINE, "\n".join(lines), TICK_MS, "tick"))
    return tables


def test_a_day_of_a_six_numeral_clock(benchmark: BenchmarkFixture) -> None:
    tables = list(ticks())
    outcome: Replay = benchmark.pedantic(lambda: check(MACHINE, tables, GLYPHS), rounds=1)  # type: ignore[no-untyped-call]
    assert outcome.faults == ()
    assert len(outcome.seen) == DAY_S + 1
    last = {grid.name: NUMERALS[int(n)] for grid, n in zip(GRIDS, "235959", strict=True)}
    assert outcome.seen[-1].pictures == last
    benchmark.extra_info["pulses"] = sum(outcome.pulses.values())


def test_a_hundred_frames_that_were_never_seen_before(benchmark: BenchmarkFixture) -> None:
    tables = afresh(100)
    outcome: Replay = benchmark.pedantic(lambda: replay(MACHINE, tables), rounds=3)  # type: ignore[no-untyped-call]
    assert outcome.faults == ()
    benchmark.extra_info["pulses"] = sum(outcome.pulses.values())
