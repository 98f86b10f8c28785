"""Unifont on a 16 by 16 board of two kinds: every glyph proven best, and how that compares.

Run with `pytest -s tests/bench/test_solver_unifont.py`; the figures are printed. The target is
57,086 glyphs in 90 s and 1 GiB on two cores. A sample is planned by OR-Tools CP-SAT as well.
"""

from __future__ import annotations

import gc
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from random import Random

import pytest
from pytest_benchmark.fixture import BenchmarkFixture
from reference.cp_sat import shortest_open_way
from solver_cases import frame

from bench.solver_boards import (
    UNIFONT,
    column_codes,
    every_selector,
    left_to_right,
    peak_mib,
    square_board,
    unifont,
)
from seqc.machine.glyphs import Glyph
from seqc.solver.fonts import plan_font
from seqc.solver.frames import plan_frame
from seqc.solver.positions import home

SAMPLE = 500
TURN = 25

pytestmark = pytest.mark.skipif(not UNIFONT.exists(), reason="needs Debian's unifont")


def whole_font(glyphs: list[Glyph]) -> dict[str, int]:
    machine = square_board(16)
    figures = dict.fromkeys(("glyphs", "proven", "passes", "pulses"), 0)
    for result in plan_font(machine, glyphs, home(len(machine.actuators))):
        assert result.plan is not None
        (plan,) = result.plan
        figures["glyphs"] += 1
        figures["proven"] += plan.proven
        figures["passes"] += len(plan.passes)
        figures["pulses"] += plan.selector_pulses
    return figures


def test_the_whole_font(benchmark: BenchmarkFixture) -> None:
    glyphs = unifont()
    figures = benchmark.pedantic(whole_font, (glyphs,), rounds=1)  # type: ignore[no-untyped-call]
    spent = os.times()
    cpu = spent.user + spent.system + spent.children_user + spent.children_system
    codes = [column_codes(glyph) for glyph in glyphs]
    plain, every = sum(map(left_to_right, codes)), sum(map(every_selector, codes))
    print(f"\n{figures['glyphs']} glyphs, {figures['proven']} proven, {figures['passes']} passes")
    print(f"selector pulses: best {figures['pulses']}, left to right {plain}, all set {every}")
    print(f"processor time {cpu:.0f} s, memory at most {peak_mib()} MiB")
    assert figures["proven"] == figures["glyphs"] == len(glyphs)


@pytest.mark.parametrize("workers", [1, 2])
def test_a_sample_against_cp_sat(workers: int) -> None:
    """Processor time of both in one run; CP-SAT alone, and with a worker for each of two cores.

    They take turns, so that both meet the machine as fast as it is at the time. The garbage
    collector's walks over the 57,086 glyphs that were read belong to neither.
    """
    machine = square_board(16)
    sample = Random(500).sample(unifont(), SAMPLE)
    start = home(len(machine.actuators))
    own = model = 0.0
    with _garbage_left_alone():
        for first in range(0, SAMPLE, TURN):
            turn = sample[first : first + TURN]
            started = time.process_time()
            ours = [plan_frame(machine, frame(glyph), start).grids[0] for glyph in turn]
            between = time.process_time()
            theirs = [shortest_open_way(column_codes(glyph), 0, workers)[0] for glyph in turn]
            own, model = own + between - started, model + time.process_time() - between
            assert all(plan.proven for plan in ours)
            assert [plan.selector_pulses for plan in ours] == theirs
    print(
        f"\n{SAMPLE} glyphs: {own:.2f} s; CP-SAT, {workers} workers: {model:.2f} s, "
        f"{model / own:.1f} times as long"
    )


@contextmanager
def _garbage_left_alone() -> Iterator[None]:
    """What was made so far isn't walked over meanwhile."""
    gc.freeze()
    try:
        yield
    finally:
        gc.unfreeze()
