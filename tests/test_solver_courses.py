"""Orders of few passes found by the trajectories of actuators equal brute force and CP-SAT."""

from __future__ import annotations

from random import Random

import pytest
from open_boards import crossed
from solver_cases import frame, load_of, replayed
from test_solver_layers import by_trajectories, hold_to_an_end, hold_to_brute_force, hold_to_cp_sat

from seqc.machine.effort import Work
from seqc.solver.frames import plan_frame
from seqc.solver.passes.reduction import whole
from seqc.solver.positions import UNKNOWN, Positions, home
from seqc.solver.trajectories import search
from seqc.solver.trajectories.order import order_by_trajectories


@pytest.mark.quick(5)
@pytest.mark.parametrize("seed", range(120))
def test_courses_find_what_brute_force_finds(seed: int) -> None:
    hold_to_brute_force(Random(40_000 + seed), (0, 0, 1), by_trajectories, most_passes=4)


@pytest.mark.parametrize("seed", range(60))
def test_courses_end_where_they_must(seed: int) -> None:
    hold_to_an_end(Random(41_000 + seed), by_trajectories, most_passes=4)


# CP-SAT takes seconds on these; boards any larger would take it minutes.
@pytest.mark.parametrize("seed", range(12))
def test_a_gate_for_each_cell_is_as_cp_sat_finds_it(seed: int) -> None:
    random = Random(seed)
    machine, glyph = crossed(random, random.randint(3, 4), random.randint(4, 6))
    hold_to_cp_sat(random, machine, glyph)


@pytest.mark.parametrize("known", [True, False])
def test_many_cells_with_a_gate_each_are_proven(known: bool) -> None:
    machine, glyph = crossed(Random(2), 6, 12)
    (plan,) = plan_frame(machine, frame(glyph), home(len(machine.actuators)) if known else UNKNOWN)
    replayed(plan, load_of(machine, glyph))
    assert plan.proven


def test_the_effort_is_limited() -> None:
    component = whole([(Positions(7, 1),), (Positions(7, 6),)], home(3), UNKNOWN)
    assert by_trajectories(component, 2)
    assert order_by_trajectories(component, 2, Work(1)) is None


def test_no_proof_where_the_widest_search_leaves_choices_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    ways = [(Positions(0b11, 0b01),), (Positions(0b11, 0b10),), (Positions(0b110, 0b010),)]
    component = whole(ways, UNKNOWN, UNKNOWN)
    assert by_trajectories(component, 2)
    monkeypatch.setattr(search, "WIDTHS", (1,))
    assert by_trajectories(component, 2) is None
