"""Time, memory and proof as the grid grows, to 64 square: full columns and those with open needs.

Run with `pytest -s tests/bench/test_solver_growth.py`; the figures are printed.
"""

from __future__ import annotations

import time
import tracemalloc
from random import Random

import pytest
from solver_cases import frame
from strategies import random_glyph

from bench.conftest import Record
from bench.drawn_shapes import SHAPES, drawn
from bench.solver_boards import open_board, square_board
from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.solver.frames import plan_frame
from seqc.solver.positions import home

GLYPHS = 5


@pytest.mark.parametrize("size", [8, 16, 24, 32, 48, 64])
def test_growth(size: int, record: Record) -> None:
    machine = square_board(size)
    random = Random(size)
    start = home(len(machine.actuators))
    glyphs: list[Glyph] = []
    while len(glyphs) < GLYPHS:
        glyph = random_glyph(random, machine)
        if len(set(glyph.kinds)) > 1:
            glyphs.append(glyph)
    started = time.process_time()
    plans = [plan_frame(machine, frame(glyph), start).grids[0] for glyph in glyphs]
    spent = time.process_time() - started
    tracemalloc.start()
    plan_frame(square_board(size), frame(glyphs[0]), start)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    gap = max((plan.pulses - plan.pulses_bound) / plan.pulses_bound for plan in plans)
    proven = sum(plan.proven for plan in plans)
    record(
        f"Full columns, {size} square",
        f"{1000 * spent / GLYPHS:.0f} ms a glyph, {peak / 2**20:.1f} MiB, "
        f"{proven} of {GLYPHS} proven, at most {100 * gap:.2f} % above the bound",
    )
    assert gap <= 0.02


@pytest.mark.parametrize("drawing", ["random", *SHAPES])
@pytest.mark.parametrize(("kinds", "absent"), [(2, 0.1), (2, 0.3), (3, 0.0), (4, 0.0)])
@pytest.mark.parametrize("size", [24, 32, 48, 64])
def test_open_needs(size: int, kinds: int, absent: float, drawing: str, record: Record) -> None:
    random = Random(size)
    machine = open_board(size, kinds, absent, random)
    glyph = drawn(machine, size, drawing) if drawing in SHAPES else _mixed(random, machine)
    started = time.process_time()
    (plan,) = plan_frame(machine, frame(glyph), home(len(machine.actuators)))
    spent = time.process_time() - started
    least = plan.pulses_bound - (plan.pulses - plan.selector_pulses)
    gap = (plan.selector_pulses - least) / least
    record(
        f"Open needs, {size} square, {kinds} kinds, {100 * absent:.0f} % absent, {drawing}",
        f"{len(plan.passes)} passes (at least {plan.passes_bound}), {plan.selector_pulses} pulses, "
        f"at least {least}, {100 * gap:.2f} % above the bound, {spent:.1f} s",
    )
    assert len(plan.passes) == plan.passes_bound
    assert gap <= 0.02


def _mixed(random: Random, machine: Machine) -> Glyph:
    """Each cell any of the kinds."""
    grid = machine.lanes[0].grid
    items = [item.name for item in machine.lanes[0].items]
    return Glyph("mixed", "random", grid.name, tuple(random.choice(items) for _ in grid.cells))
