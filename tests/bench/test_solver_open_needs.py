"""Proof and time where needs leave actuators open: random boards that take at most 16 passes.

Cells are absent, or each cell has a metering gate of its own.

Run with `pytest -s tests/bench/test_solver_open_needs.py`; a row is printed for each class.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from random import Random

import pytest
from open_boards import crossed, open_board
from solver_cases import frame

from bench.conftest import Record
from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.solver.frames import plan_frame
from seqc.solver.needs import needs_of
from seqc.solver.passes.colouring import fewest_classes
from seqc.solver.positions import UNKNOWN, home

BOARDS = 3
MOST_PASSES = 16

CLASSES = [
    (8, 16, 2, 0.0),
    (20, 16, 2, 0.1),
    (20, 16, 4, 0.3),
    (20, 15, 2, 0.5),
    (20, 20, 2, 0.6),
    (24, 16, 3, 0.5),
    (24, 16, 4, 0.6),
    (16, 20, 2, 0.5),
    (12, 24, 3, 0.6),
    (8, 32, 2, 0.5),
    (16, 40, 3, 0.8),
    (8, 40, 4, 0.7),
    (8, 40, 4, 0.6),
]


@pytest.mark.parametrize(("rows", "columns", "kinds", "absent"), CLASSES)
def test_open_needs(rows: int, columns: int, kinds: int, absent: float, record: Record) -> None:
    random = Random(0)
    passes: list[int] = []
    proven = 0
    times: list[float] = []
    while len(passes) < BOARDS:
        machine, glyph = open_board(random, rows, columns, kinds, absent)
        needs = needs_of(machine, glyph.grid).needs(glyph.kinds).values()
        if len(fewest_classes([need.ways for need in needs]).classes) > MOST_PASSES:
            continue
        started = time.process_time()
        (plan,) = plan_frame(machine, frame(glyph), home(len(machine.actuators)))
        times.append(time.process_time() - started)
        passes.append(len(plan.passes))
        proven += plan.proven
        assert plan.pulses <= 1.02 * plan.pulses_bound
    record(
        f"Few passes, {rows} by {columns}, {kinds} kinds, {absent:.0%} absent",
        f"{min(passes)} to {max(passes)} passes, {proven} of {BOARDS} proven, "
        f"{1000 * sorted(times)[len(times) // 2]:.0f} ms, at most {1000 * max(times):.0f} ms",
    )


@pytest.mark.parametrize(("rows", "columns"), [(5, 8), (6, 12), (8, 12), (8, 24)])
@pytest.mark.parametrize("known", [True, False])
def test_a_gate_for_each_cell(rows: int, columns: int, known: bool) -> None:
    random = Random(rows)
    boards = [crossed(random, rows, columns) for _ in range(BOARDS)]
    slowest = all_proven(boards, known)
    print(
        f"\n{rows} x {columns}, from {'home' if known else 'unknown positions'}: "
        f"all {BOARDS} proven, at most {1000 * slowest:.0f} ms"
    )


def all_proven(boards: Sequence[tuple[Machine, Glyph]], known: bool) -> float:
    """Plan a picture on each board, from home or from unknown positions; the longest time in s."""
    times: list[float] = []
    for machine, glyph in boards:
        started = time.process_time()
        start = home(len(machine.actuators)) if known else UNKNOWN
        (plan,) = plan_frame(machine, frame(glyph), start)
        times.append(time.process_time() - started)
        assert plan.proven
    return max(times)
