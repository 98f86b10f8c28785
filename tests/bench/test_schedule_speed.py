"""How long schedules take: a numeral, a joint frame of six, a large grid, advice."""

from __future__ import annotations

from random import Random

import pytest
from boards import board, glyph, grid_of
from pytest_benchmark.fixture import BenchmarkFixture
from reference.schedule_planner import left_to_right

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.schedule.frame import time_frame
from seqc.schedule.timing import transition_period

ZERO = ("0110", "1001", "1001", "1001", "1001", "0110")
ONE = ("0010", "0110", "0010", "0010", "0010", "0111")


def numerals(count: int) -> Machine:
    grids = [grid_of(6, 4, name=f"n{number}") for number in range(count)]
    return board(grids, limit_ua=4_000_000 * count)


def shapes(machine: Machine, rows: tuple[str, ...]) -> list[Glyph]:
    return [glyph(grid, *rows) for grid in machine.grids]


def test_a_numeral(benchmark: BenchmarkFixture) -> None:
    machine = numerals(1)
    plan = left_to_right(machine, shapes(machine, ZERO))
    timing = benchmark(time_frame, machine, plan)
    assert timing.proven


@pytest.mark.parametrize("count", [1, 2, 6])
def test_a_tick_of_several_numerals(benchmark: BenchmarkFixture, count: int) -> None:
    machine = numerals(count)
    first = left_to_right(machine, shapes(machine, ZERO))
    second = left_to_right(machine, shapes(machine, ONE), first.grids[-1].end)
    tick = benchmark(transition_period, machine, first, second)
    assert tick.period_us < 4_000_000
    benchmark.extra_info["gap_us"] = tick.period_us - tick.bound_us


@pytest.mark.parametrize("side", [8, 16, 32])
def test_a_random_square(benchmark: BenchmarkFixture, side: int) -> None:
    random = Random(side)
    machine = board([grid_of(side, side)])
    rows = ["".join(random.choice("01") for _ in range(side)) for _ in range(side)]
    plan = left_to_right(machine, [glyph(machine.grids[0], *rows)])
    timing = benchmark(time_frame, machine, plan)
    benchmark.extra_info["gap_us"] = timing.load_time_us - timing.load_bound_us
    assert len(timing.pulses) == plan.pulses
