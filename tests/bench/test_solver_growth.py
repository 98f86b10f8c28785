"""Time, memory and proof as the grid grows: random glyphs of two kinds on 8 to 64 square.

Run with `pytest -s tests/bench/test_solver_growth.py`; the figures are printed.
"""

from __future__ import annotations

import time
import tracemalloc
from random import Random

import pytest
from solver_cases import frame
from strategies import random_glyph

from bench.solver_boards import square_board
from seqc.machine.glyphs import Glyph
from seqc.solver.frames import plan_frame
from seqc.solver.positions import home

GLYPHS = 5


@pytest.mark.parametrize("size", [8, 16, 24, 32, 48, 64])
def test_growth(size: int) -> None:
    machine = square_board(size)
    random = Random(size)
    start = home(len(machine.actuators))
    glyphs: list[Glyph] = []
    while len(glyphs) < GLYPHS:
        glyph = random_glyph(random, machine)
        if len(set(glyph.kinds)) > 1:
            glyphs.append(glyph)
    begun = time.process_time()
    plans = [plan_frame(machine, frame(glyph), start).grids[0] for glyph in glyphs]
    spent = time.process_time() - begun
    tracemalloc.start()
    plan_frame(square_board(size), frame(glyphs[0]), start)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    gap = max((plan.pulses - plan.least_pulses) / plan.least_pulses for plan in plans)
    proven = sum(plan.proven for plan in plans)
    print(
        f"\n{size} square: {1000 * spent / GLYPHS:.0f} ms a glyph, {peak / 2**20:.1f} MiB, "
        f"{proven} of {GLYPHS} proven, at most {100 * gap:.2f} % above the bound"
    )
    assert gap <= 0.02
