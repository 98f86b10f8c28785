"""Programmes whose frames leave actuators open, by load time: held against every order."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest
from boards import COLUMN, GRID, board, grid_of
from reference.brute import Setting
from solver_cases import frame, load_of, positions_of, random_setting
from strategies import loadable_glyph
from test_solver_load_time import SCARCE_UA, every_order
from test_solver_programme import changing
from test_solver_programme_time import Reference, cost_of

from seqc.machine.effort import NORMAL
from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Cell, Position
from seqc.schedule.clock import ScheduleClock
from seqc.solver.frames import plan_frame
from seqc.solver.objective import Objective
from seqc.solver.plan import GridPlan, Pass
from seqc.solver.programme import plan_programme


def some_programme(seed: int) -> tuple[Machine, list[Glyph], Setting]:
    """A board with absent cells of which none makes a whole row open."""
    random = Random(seed)
    columns = random.randint(2, 3)
    cells = [Cell(r, c) for r in range(1, 4) for c in range(1, columns + 1)]
    kept = {Cell(row, random.randint(1, columns)) for row in range(1, 4)}
    absent = [cell for cell in cells if cell not in kept and random.random() < 0.4]
    machine = board(
        [grid_of(3, columns, absent)],
        gates={"drop": COLUMN, "swap": GRID},
        limit_ua=random.choice((SCARCE_UA, 8_000_000)),
    )
    glyphs = [loadable_glyph(random, machine, str(number)) for number in range(4)]
    return machine, changing(glyphs), random_setting(random, machine)


class OpenReference(Reference):
    """Every load of every frame; its last pass may set what another order leaves as well."""

    def _loads(self, glyph: Glyph, start: Setting) -> dict[Setting, tuple[int, int]]:
        load = load_of(self.machine, glyph)
        (plan,) = plan_frame(self.machine, frame(glyph), positions_of(self.machine, start))
        orders = list(every_order(load, [at is True for at in start], len(plan.passes)))
        natural = {self._end(load, start, order) for order in orders}
        best: dict[Setting, tuple[int, int]] = {}
        for order in orders:
            for end in natural:
                closed = self._closed(plan, order, (self._end(load, start, order), end))
                if closed is not None:
                    best[end] = min(best.get(end, closed), closed)
        return best

    def _closed(
        self, plan: GridPlan, order: tuple[Pass, ...], ends: tuple[Setting, Setting]
    ) -> tuple[int, int] | None:
        """The cost of an order that ends elsewhere; None where its last pass can't be there."""
        selectors = [actuator for actuator in self.machine.actuators if not actuator.is_gate]
        more = tuple(
            (actuator, Position.THROWN if to else Position.REST)
            for actuator, at, to in zip(selectors, *ends, strict=True)
            if at is not to
        )
        needed = {cell.row for gate in order[-1].operate for cell in gate.cells}
        if any({cell.row for cell in actuator.cells} & needed for actuator, _ in more):
            return None
        last = replace(order[-1], set=(*order[-1].set, *more))
        return self._cost(plan, (*order[:-1], last))


@pytest.mark.quick(6)
@pytest.mark.parametrize("objective", Objective)
@pytest.mark.parametrize("seed", range(30))
def test_a_line_with_open_needs_is_loaded_best(seed: int, objective: Objective) -> None:
    machine, glyphs, start = some_programme(seed)
    at = positions_of(machine, start)
    frames, clock = list(map(frame, glyphs)), ScheduleClock(machine)
    plan = plan_programme(machine, frames, at, clock=clock, objective=objective)
    reference = OpenReference(machine, objective)
    assert cost_of(plan) == min(map(min, reference.through(glyphs, start).values()))
    assert plan.proven


@pytest.mark.quick(6)
@pytest.mark.parametrize("objective", Objective)
@pytest.mark.parametrize("seed", range(30))
def test_a_round_with_open_needs_is_loaded_best(seed: int, objective: Objective) -> None:
    machine, glyphs, start = some_programme(100 + seed)
    if len(glyphs) == 1:
        return
    at = positions_of(machine, start)
    frames, clock = list(map(frame, glyphs)), ScheduleClock(machine)
    plan = plan_programme(machine, frames, at, repeat=True, clock=clock, objective=objective)
    reference = OpenReference(machine, objective)
    best = min(
        min(closed)
        for first in reference.loads(glyphs[0], start)
        if (closed := reference.through([*glyphs[1:], glyphs[0]], first).get(first))
    )
    assert cost_of(plan) == best
    assert plan.proven


@pytest.mark.quick(6)
@pytest.mark.parametrize("seed", range(200, 230))
def test_what_is_not_tried_is_bounded(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    random = Random(seed)
    monkeypatch.setattr("seqc.solver.joint.ends.MOST_ENDS", random.choice((0, 64)))
    effort = replace(NORMAL, plan_nodes=random.choice((0, 500, 40_000)))
    machine, glyphs, start = some_programme(seed)
    at = positions_of(machine, start)
    clock = ScheduleClock(machine)
    plan = plan_programme(machine, list(map(frame, glyphs)), at, clock=clock, effort=effort)
    reference = OpenReference(machine)
    best = min(map(min, reference.through(glyphs, start).values()))
    assert plan.lower_bound[1:] <= best <= cost_of(plan)
    loads = []
    for glyph in glyphs:
        (alone,) = plan_frame(machine, frame(glyph), at, clock=clock)
        at = alone.end
        loads.append(alone.load_us or 0)
    assert cost_of(plan)[:2] <= (max(loads), sum(loads))


@pytest.mark.quick(5)
@pytest.mark.parametrize("seed", range(300, 320))
def test_a_round_that_makes_no_plans_keeps_its_bound(
    seed: int,
) -> None:
    machine, glyphs, start = some_programme(seed)
    if len(glyphs) == 1:
        return
    frames, at = list(map(frame, glyphs)), positions_of(machine, start)
    clock = ScheduleClock(machine)
    best = plan_programme(machine, frames, at, repeat=True, clock=clock)
    effort = replace(NORMAL, plan_nodes=0)
    plan = plan_programme(machine, frames, at, repeat=True, clock=clock, effort=effort)
    assert 0 < plan.lower_bound.longest_us <= best.cost.longest_us
    assert plan.lower_bound <= best.cost
    assert plan.lower_bound.load_us > plan.lower_bound.longest_us
