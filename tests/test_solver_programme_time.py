"""A programme's frames planned jointly by load time: equal to trying every order of every frame."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import replace
from random import Random

import pytest
from boards import COLUMN, GRID, board, grid_of
from reference.brute import Load, Setting
from solver_cases import frame, load_of, positions_of, random_setting
from strategies import loadable_glyph
from test_solver_load_time import SCARCE_UA, every_order
from test_solver_programme import changing

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Position
from seqc.schedule.clock import ScheduleClock
from seqc.solver.frames import plan_frame
from seqc.solver.objective import Objective
from seqc.solver.plan import GridPlan, Pass, ProgrammePlan
from seqc.solver.programme import plan_programme

Cost = tuple[int, int, int]
"""The longest load time, the sum of all, and the pulses; or the pulses first."""


def some_programme(random: Random) -> tuple[Machine, list[Glyph]]:
    limit = random.choice((SCARCE_UA, 8_000_000))
    gates = {"drop": COLUMN, "swap": GRID}
    machine = board([grid_of(3, random.randint(2, 3))], gates=gates, limit_ua=limit)
    glyphs = [loadable_glyph(random, machine, str(number)) for number in range(4)]
    return machine, changing(glyphs)


class Reference:
    """Every load of every frame from every setting, timed."""

    def __init__(self, machine: Machine, objective: Objective = Objective.LOAD_TIME) -> None:
        self.machine = machine
        self.pulses_first = objective is Objective.PULSES
        self.clock = ScheduleClock(machine)
        self._known: dict[tuple[Glyph, Setting], dict[Setting, tuple[int, int]]] = {}

    def loads(self, glyph: Glyph, start: Setting) -> dict[Setting, tuple[int, int]]:
        """The least cost from a setting to each that the last pass can have.

        It is load time and pulses, or these two the other way round.
        """
        if (glyph, start) not in self._known:
            self._known[glyph, start] = self._loads(glyph, start)
        return self._known[glyph, start]

    def _loads(self, glyph: Glyph, start: Setting) -> dict[Setting, tuple[int, int]]:
        load = load_of(self.machine, glyph)
        (plan,) = plan_frame(self.machine, frame(glyph), positions_of(self.machine, start))
        best: dict[Setting, tuple[int, int]] = {}
        for order in every_order(load, [at is True for at in start], len(plan.passes)):
            end, cost = self._end(load, start, order), self._cost(plan, order)
            best[end] = min(best.get(end, cost), cost)
        return best

    def _cost(self, plan: GridPlan, order: tuple[Pass, ...]) -> tuple[int, int]:
        other = replace(plan, passes=order)
        cost = self.clock.load_us(other)[0], other.pulses
        return cost[::-1] if self.pulses_first else cost

    def _end(self, load: Load, start: Setting, order: tuple[Pass, ...]) -> Setting:
        at = dict(zip(load.selectors, start, strict=True))
        for step in order:
            at.update((actuator, to is Position.THROWN) for actuator, to in step.set)
        return tuple(at.values())

    def through(self, glyphs: Iterable[Glyph], start: Setting) -> dict[Setting, set[Cost]]:
        """Every cost of all frames in order, by the setting in which they end."""
        ways: dict[Setting, set[Cost]] = {start: {(0, 0, 0)}}
        for glyph in glyphs:
            grown: dict[Setting, set[Cost]] = {}
            for before, costs in ways.items():
                for after, load in self.loads(glyph, before).items():
                    grown.setdefault(after, set()).update(self._longer(costs, load))
            ways = grown
        return ways

    def _longer(self, costs: Iterable[Cost], load: tuple[int, int]) -> set[Cost]:
        """Costs with one load more."""
        if self.pulses_first:
            pulses, us = load
            return {(a + pulses, max(b, us), c + us) for a, b, c in costs}
        us, pulses = load
        return {(max(a, us), b + us, c + pulses) for a, b, c in costs}


def cost_of(plan: ProgrammePlan) -> Cost:
    cost = plan.cost
    if plan.objective is Objective.PULSES:
        return cost.pulses, cost.longest_us, cost.load_us
    return cost.longest_us, cost.load_us, cost.pulses


@pytest.mark.quick(6)
@pytest.mark.parametrize("objective", Objective)
@pytest.mark.parametrize("seed", range(25))
def test_a_line_of_frames_is_loaded_best(seed: int, objective: Objective) -> None:
    random = Random(seed)
    machine, glyphs = some_programme(random)
    start = random_setting(random, machine)
    frames = list(map(frame, glyphs))
    at = positions_of(machine, start)
    clock = ScheduleClock(machine)
    plan = plan_programme(machine, frames, at, clock=clock, objective=objective)
    reference = Reference(machine, objective)
    assert cost_of(plan) == min(map(min, reference.through(glyphs, start).values()))
    assert plan.proven
    for before, after in itertools.pairwise(plan.plans):
        assert after.start == before.end


@pytest.mark.quick(6)
@pytest.mark.parametrize("objective", Objective)
@pytest.mark.parametrize("seed", range(25))
def test_a_round_is_loaded_best(seed: int, objective: Objective) -> None:
    random = Random(100 + seed)
    machine, glyphs = some_programme(random)
    if len(glyphs) == 1:
        return
    start = random_setting(random, machine)
    frames = list(map(frame, glyphs))
    at = positions_of(machine, start)
    clock = ScheduleClock(machine)
    plan = plan_programme(machine, frames, at, repeat=True, clock=clock, objective=objective)
    reference = Reference(machine, objective)
    firsts = reference.loads(glyphs[0], start)
    rounds = {
        first: min(closed)
        for first in firsts
        if (closed := reference.through([*glyphs[1:], glyphs[0]], first).get(first))
    }
    assert cost_of(plan) == min(rounds.values())
    assert plan.proven
    assert plan.again is not None
    assert plan.again.end == plan.plans[0].end
    first = plan.plans[0].grids[0].cost
    first_cost = first.load_us, first.pulses
    first_cost = first_cost[::-1] if objective is Objective.PULSES else first_cost
    assert first_cost == min(firsts[at] for at, cost in rounds.items() if cost == cost_of(plan))


def test_the_joint_choice_wins_over_one_frame_at_a_time() -> None:
    won = 0
    for seed in range(200, 230):
        random = Random(seed)
        machine, glyphs = some_programme(random)
        clock = ScheduleClock(machine)
        start = at = positions_of(machine, random_setting(random, machine))
        loads = []
        for glyph in glyphs:
            (plan,) = plan_frame(machine, frame(glyph), at, clock=clock)
            at = plan.end
            loads.append(plan.load_us or 0)
        joint = plan_programme(machine, list(map(frame, glyphs)), start, clock=clock)
        alone = max(loads), sum(loads)
        assert joint.cost[1:3] <= alone
        won += joint.cost[1:3] < alone
    assert won
