"""A whole font in one call: one result a glyph, the same on any executor."""

from __future__ import annotations

import importlib
from concurrent.futures import Executor, ProcessPoolExecutor, ThreadPoolExecutor
from random import Random

import pytest
from boards import COLUMN, GRID, board, grid_of
from solver_cases import frame
from strategies import random_glyph

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.solver.conflicts import find_conflicts
from seqc.solver.fonts import PIECE, GlyphResult, plan_font
from seqc.solver.frames import plan_frame
from seqc.solver.positions import home


def some_font(count: int) -> tuple[Machine, list[Glyph]]:
    machine = board([grid_of(4, 3)], selectors=(GRID,), gates={"drop": COLUMN, "swap": GRID})
    random = Random(count)
    return machine, [random_glyph(random, machine, str(number)) for number in range(count)]


def planned(
    machine: Machine, font: list[Glyph], executor: Executor | None = None
) -> tuple[list[GlyphResult], list[int]]:
    told: list[int] = []
    start = home(len(machine.actuators))
    results = plan_font(machine, font, start, executor=executor, progress=told.append)
    return list(results), told


@pytest.mark.parametrize("count", [0, 3, PIECE, 2 * PIECE + 40])
def test_each_glyph_has_the_plan_or_the_conflicts_that_it_has_alone(count: int) -> None:
    machine, font = some_font(count)
    results, told = planned(machine, font)
    assert [result.glyph for result in results] == font
    for result in results:
        assert result.conflicts == find_conflicts(machine, result.glyph)
        if not result.conflicts:
            alone = plan_frame(machine, frame(result.glyph), home(len(machine.actuators)))
            assert result.plan == alone
    assert told[-1] == count
    assert told == sorted(told)
    assert count < PIECE or any(result.plan for result in results)


@pytest.mark.parametrize("pool", [ThreadPoolExecutor, ProcessPoolExecutor])
def test_any_executor_serves(pool: type[Executor]) -> None:
    machine, font = some_font(PIECE + 1)
    with pool() as executor:
        assert planned(machine, font, executor) == planned(machine, font)


def test_a_cluster_serves() -> None:
    distributed = importlib.import_module("distributed")
    machine, font = some_font(PIECE + 1)
    size = {"n_workers": 2, "threads_per_worker": 1, "dashboard_address": None}
    with distributed.LocalCluster(**size) as cluster, distributed.Client(cluster) as client:
        assert planned(machine, font, client.get_executor()) == planned(machine, font)
