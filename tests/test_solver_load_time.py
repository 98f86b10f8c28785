"""Passes, then load time, then pulses, or the last two the other way round: equal to trying all."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import replace
from random import Random

import pytest
from boards import COLUMN, GRID, ROW, board, grid_of
from reference.brute import Load
from solver_cases import frame, load_of, positions_of, random_setting, replayed
from strategies import loadable_glyph

from seqc.machine.effort import NORMAL
from seqc.machine.parts import Branch, Item, Position
from seqc.schedule.clock import ScheduleClock
from seqc.solver.frames import plan_frame
from seqc.solver.objective import Objective
from seqc.solver.plan import GridPlan, Pass
from seqc.solver.positions import Positions

SCARCE_UA = 3_600_000


def every_order(load: Load, start: list[bool], count: int) -> Iterator[tuple[Pass, ...]]:
    """The passes for every way to put the groups into so many of them.

    Two kinds by one selector a row: a group needs the selector of each of its rows at its kind.
    Each pass sets what its groups need.
    """
    grid = load.machine.lanes[0].grid
    feed = load.machine.lanes[0].feed
    assert isinstance(feed, Branch)
    assert isinstance(feed.thrown, Item)
    needs = []
    for group in load.groups:
        need = {}
        for cell in group.cells:
            row = next(n for n, s in enumerate(load.selectors) if cell in s.cell_set)
            need[row] = load.glyph.kinds[grid.index_of[cell]] == feed.thrown.name
        needs.append(need)
    for numbers in itertools.product(range(count), repeat=len(needs)):
        passes = _passes(load, list(start), needs, numbers, count)
        if passes:
            yield passes


def _passes(
    load: Load,
    at: list[bool],
    needs: list[dict[int, bool]],
    numbers: tuple[int, ...],
    count: int,
) -> tuple[Pass, ...] | None:
    passes = []
    for number in range(count):
        members = [n for n, where in enumerate(numbers) if where == number]
        wanted: dict[int, bool] = {}
        for member in members:
            for row, kind in needs[member].items():
                if wanted.setdefault(row, kind) != kind:
                    return None
        moved = tuple(
            (load.selectors[row], Position.THROWN if kind else Position.REST)
            for row, kind in sorted(wanted.items())
            if at[row] != kind
        )
        for row, kind in wanted.items():
            at[row] = kind
        if not members:
            return None
        passes.append(Pass(moved, tuple(load.groups[member] for member in members)))
    return tuple(passes)


def some_case(seed: int) -> tuple[Load, Positions, list[bool]]:
    random = Random(seed)
    rows, columns = random.randint(2, 4), random.randint(2, 4)
    grid = grid_of(rows, columns)
    gates = {"drop": COLUMN, "swap": GRID} if random.random() < 0.8 else {"drop": COLUMN}
    limit = random.choice((SCARCE_UA, 8_000_000))
    machine = board([grid], selectors=(ROW,), gates=gates, limit_ua=limit)
    load = load_of(machine, loadable_glyph(random, machine))
    setting = random_setting(random, machine)
    return load, positions_of(machine, setting), [at is True for at in setting]


def timed(plan: GridPlan, clock: ScheduleClock, passes: tuple[Pass, ...]) -> tuple[int, int]:
    other = replace(plan, passes=passes)
    return clock.load_us(other)[0], other.pulses


@pytest.mark.parametrize("seed", range(60))
def test_load_time_and_pulses_are_those_of_the_best_order(seed: int) -> None:
    load, start, setting = some_case(seed)
    clock = ScheduleClock(load.machine)
    plans = {
        objective: plan_frame(
            load.machine, frame(load.glyph), start, clock=clock, objective=objective
        ).grids[0]
        for objective in Objective
    }
    quick, frugal = plans[Objective.LOAD_TIME], plans[Objective.PULSES]
    count = len(frugal.passes)
    times = [timed(frugal, clock, order) for order in every_order(load, setting, count)]
    assert not any(True for _ in every_order(load, setting, count - 1))
    assert (quick.load_us, quick.pulses) == min(times)
    assert (frugal.pulses, frugal.load_us) == min((pulses, us) for us, pulses in times)
    for objective, plan in plans.items():
        assert plan.proven
        assert plan.objective is objective
        assert plan.load_us == clock.load_us(plan)[0]
        replayed(plan, load)


def test_the_quicker_order_never_takes_longer_nor_fewer_pulses() -> None:
    won = 0
    for seed in range(60, 160):
        load, start, _ = some_case(seed)
        clock = ScheduleClock(load.machine)
        quick, frugal = (
            plan_frame(load.machine, frame(load.glyph), start, clock=clock, objective=each).grids[0]
            for each in (Objective.LOAD_TIME, Objective.PULSES)
        )
        assert quick.load_us is not None
        assert frugal.load_us is not None
        assert quick.load_us <= frugal.load_us
        assert quick.pulses >= frugal.pulses
        won += quick.load_us < frugal.load_us
    assert won


@pytest.mark.parametrize("nodes", [0, 20, 40_000])
def test_bounds_are_true_where_the_work_is_over(nodes: int) -> None:
    gaps = 0
    for seed in range(60):
        load, start, setting = some_case(seed)
        clock, effort = ScheduleClock(load.machine), replace(NORMAL, plan_nodes=nodes)
        (plan,) = plan_frame(load.machine, frame(load.glyph), start, clock=clock, effort=effort)
        assert plan.load_us is not None
        assert plan.load_bound_us is not None
        clock = ScheduleClock(load.machine)
        orders = every_order(load, setting, len(plan.passes))
        best_us, _ = min(timed(plan, clock, order) for order in orders)
        assert plan.load_bound_us <= best_us <= plan.load_us, seed
        gaps += plan.load_bound_us < plan.load_us
        replayed(plan, load)
    assert bool(gaps) is (nodes < 40_000)
