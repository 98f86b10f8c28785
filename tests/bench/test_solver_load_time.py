"""By load time: ten random glyphs, round again, as boards grow.

Run with `pytest -s tests/bench/test_solver_load_time.py`; a row is printed for each board.
"""

from __future__ import annotations

import time
from random import Random

import pytest
from open_boards import open_board
from solver_cases import frame
from strategies import random_glyph

from bench.conftest import Record
from seqc.schedule.clock import ScheduleClock
from seqc.solver.positions import home
from seqc.solver.programme import plan_programme

GLYPHS = 10


@pytest.mark.parametrize(
    ("rows", "columns", "absent"),
    [(6, 4, 0.0), (8, 8, 0.0), (6, 10, 0.0), (12, 12, 0.0), (16, 16, 0.0), (8, 8, 0.1)],
)
def test_load_time(rows: int, columns: int, absent: float, record: Record) -> None:
    random = Random(1)
    machine, _ = open_board(random, rows, columns, 2, absent)
    frames = [frame(random_glyph(random, machine)) for _ in range(GLYPHS)]
    started = time.process_time()
    plan = plan_programme(
        machine, frames, home(len(machine.actuators)), repeat=True, clock=ScheduleClock(machine)
    )
    spent = time.process_time() - started
    gap = plan.cost.load_us / plan.lower_bound.load_us - 1
    record(
        f"Ten glyphs by load time, {rows} by {columns}, {absent:.0%} absent",
        f"{spent:.1f} s, loads of at most "
        f"{plan.cost.longest_us / 1000} ms, {plan.cost.load_us / 1000} ms in all, "
        f"{'proven' if plan.proven else f'gap {gap:.2%}'}",
    )
    assert plan.cost.longest_us == plan.lower_bound.longest_us
