"""A whole font in one call: one result a glyph, the same on any executor."""

from __future__ import annotations

import importlib
import pickle
from collections.abc import Callable
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import replace
from random import Random
from typing import ParamSpec, TypeVar

import pytest
from boards import COLUMN, GRID, board, glyph, grid_of
from solver_cases import frame
from strategies import random_glyph
from unreachable import is_lost

from seqc.machine.glyphs import Font, Glyph
from seqc.machine.model import Machine
from seqc.schedule.clock import ScheduleClock
from seqc.solver.fonts import PIECE, GlyphResult, LoadTimeOptions, plan_font
from seqc.solver.frames import plan_frame
from seqc.solver.objective import Objective
from seqc.solver.positions import UNKNOWN, home

P = ParamSpec("P")
T = TypeVar("T")


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
def test_each_glyph_has_the_plan_that_it_has_alone_or_none(
    count: int,
) -> None:
    machine, font = some_font(count)
    results, told = planned(machine, font)
    assert [result.glyph for result in results] == font
    for result in results:
        assert (result.plan is None) == is_lost(machine, result.glyph)
        if result.plan is not None:
            alone = plan_frame(machine, frame(result.glyph), home(len(machine.actuators)))
            assert result.plan == alone
    assert told[-1] == count
    assert told == sorted(told)
    assert count < PIECE or any(result.plan for result in results)


@pytest.mark.parametrize("objective", Objective)
def test_each_glyph_is_put_into_time_as_it_is_alone(objective: Objective) -> None:
    grid = grid_of(2, 4)
    machine = board([grid], gates={"drop": COLUMN, "swap": GRID})
    font = [
        glyph(grid, *rows)
        for rows in (["0111", "0010"], ["0010", "1101"], ["0100", "1110"], ["1100", "0101"])
    ] * 2
    times = LoadTimeOptions(ScheduleClock, objective)
    with ThreadPoolExecutor(1) as executor:
        results = list(plan_font(machine, font, times=times, executor=executor))
    clock = ScheduleClock(machine)
    assert [result.plan for result in results] == [
        plan_frame(machine, frame(each), UNKNOWN, clock=clock, objective=objective) for each in font
    ]
    assert results == list(plan_font(machine, font[:3], times=times)) + results[3:]


@pytest.mark.parametrize("pool", [ThreadPoolExecutor, ProcessPoolExecutor])
def test_any_executor_serves(pool: type[Executor]) -> None:
    machine, font = some_font(PIECE + 1)
    with pool() as executor:
        assert planned(machine, font, executor) == planned(machine, font)


class Listener(ThreadPoolExecutor):
    """Notes how many bytes each piece of work is."""

    def __init__(self) -> None:
        super().__init__()
        self.sizes: list[int] = []

    def submit(self, fn: Callable[P, T], /, *args: P.args, **kwargs: P.kwargs) -> Future[T]:
        """As the pool does."""
        self.sizes.append(len(pickle.dumps((args, kwargs))))
        return super().submit(fn, *args, **kwargs)


def test_a_piece_of_work_is_as_small_however_large_the_font_of_the_machine_is() -> None:
    machine, font = some_font(3 * PIECE)
    sizes = []
    for count in (1, len(font)):
        laden = replace(machine, fonts=(Font("random", machine.grids[0], tuple(font[:count])),))
        planned(laden, font)  # what the model works out lazily is worked out now
        with Listener() as executor:
            planned(laden, font, executor)
            sizes.append(executor.sizes)
    assert sizes[0] == sizes[1]
    assert len(sizes[0]) == 3


@pytest.mark.thorough
def test_a_cluster_serves() -> None:
    distributed = importlib.import_module("distributed")
    machine, font = some_font(PIECE + 1)
    size = {"n_workers": 2, "threads_per_worker": 1, "dashboard_address": None}
    with distributed.LocalCluster(**size) as cluster, distributed.Client(cluster) as client:
        assert planned(machine, font, client.get_executor()) == planned(machine, font)
