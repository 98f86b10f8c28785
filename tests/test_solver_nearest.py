"""The nearest picture within reach has the fewest cells wrong."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from random import Random

import pytest
from boards import COLUMN, GRID, ROW, board, glyph, grid_of
from hypothesis import given, settings
from hypothesis import strategies as st
from reference.brute import Load, every_setting
from reference.repairs import fewest_wrong, links_of
from strategies import Limits, random_glyph, random_machine
from unreachable import any_glyphs, is_lost, tied_machine

from seqc.machine.glyphs import Glyph
from seqc.machine.parts import Cell
from seqc.solver.positions import Positions
from seqc.solver.reach.elimination import best_compromise
from seqc.solver.reach.nearest import nearest_picture


@pytest.mark.parametrize("seed", range(150))
def test_no_picture_within_reach_is_nearer(seed: int) -> None:
    random = Random(seed)
    machine = tied_machine(random, 3, 3)
    (drawn,) = any_glyphs(random, machine, 1)
    near = nearest_picture(machine, drawn)
    assert near.proven
    assert len(near.wrong) == fewest_wrong(machine, links_of(machine), drawn)
    assert not is_lost(machine, replace(drawn, kinds=near.kinds))
    index_of = machine.lanes[0].grid.index_of
    differ = [cell for cell, n in index_of.items() if near.kinds[n] != drawn.kinds[n]]
    assert list(near.wrong) == differ


@pytest.mark.parametrize("seed", range(60))
def test_no_picture_is_nearer_where_cells_are_fed_otherwise(seed: int) -> None:
    random = Random(seed)
    machine = random_machine(random, Limits(3, 3, 3, 3, mixed=True))
    lane = machine.lanes[0]
    kinds = tuple(random.choice(lane.items).name for _ in lane.grid.cells)
    drawn = Glyph("x", "random", lane.grid.name, kinds)
    near = nearest_picture(machine, drawn)
    groups = machine.actuators_of(lane.metering, lane.grid)
    load = Load(machine, drawn, groups)
    settings = list(every_setting(len(load.selectors)))
    wanted = dict(zip(lane.grid.cells, kinds, strict=True))
    fewest = sum(
        min(
            sum(load.offered(cell, setting) != {wanted[cell]} for cell in group.cells)
            for setting in settings
        )
        for group in groups
    )
    assert len(near.wrong) == near.lower_bound == fewest
    assert not is_lost(machine, replace(drawn, kinds=near.kinds))


@pytest.mark.parametrize("seed", range(60))
def test_a_narrow_search_has_a_bound_that_holds(seed: int) -> None:
    random = Random(seed)
    machine = tied_machine(random, 4, 4)
    (drawn,) = any_glyphs(random, machine, 1)
    exact = nearest_picture(machine, drawn)
    narrow = nearest_picture(machine, drawn, width=2)
    assert narrow.lower_bound <= len(exact.wrong) <= len(narrow.wrong)
    assert not is_lost(machine, replace(drawn, kinds=narrow.kinds))


@settings(deadline=None)
@given(st.randoms(use_true_random=False))
def test_a_glyph_within_reach_is_its_own_nearest(random: Random) -> None:
    machine = random_machine(random)
    drawn = random_glyph(random, machine)
    near = nearest_picture(machine, drawn)
    assert (not near.wrong) == (not is_lost(machine, drawn))
    if not near.wrong:
        assert near.kinds == drawn.kinds


def test_the_many_outvote_the_few() -> None:
    grid = grid_of(2, 3)
    machine = board([grid], selectors=(ROW,), gates={"drop": GRID})
    near = nearest_picture(machine, glyph(grid, "010", "101"))
    assert near.kinds == ("slate",) * 3 + ("chalk",) * 3
    assert near.wrong == (Cell(1, 2), Cell(2, 2))


def test_a_kind_that_is_not_offered_is_wrong_in_any_case() -> None:
    grid = grid_of(2, 1)
    near = nearest_picture(board([grid]), glyph(grid, "0", "2"))
    assert near.wrong == (Cell(2, 1),)
    assert near.proven


def test_rows_against_columns_take_the_elimination() -> None:
    grid = grid_of(5, 5)
    machine = board([grid], kinds=3, selectors=(ROW, COLUMN), gates={"drop": GRID})
    random = Random(5)
    for _ in range(5):
        drawn = glyph(grid, *("".join(random.choices("012", k=5)) for _ in range(5)))
        near = nearest_picture(machine, drawn)
        assert near.proven
        assert len(near.wrong) == fewest_wrong(machine, links_of(machine), drawn)


@pytest.mark.parametrize("seed", range(40))
def test_compromises_equal_those_of_brute_force(seed: int) -> None:
    random = Random(seed)
    count = random.randint(5, 9)
    conditions: Counter[tuple[Positions, ...]] = Counter()
    for _ in range(random.randint(3, 25)):
        ways = []
        for _ in range(random.randint(1, 2)):
            known = sum(1 << n for n in random.sample(range(count), random.randint(1, 3)))
            ways.append(Positions(known, known & random.getrandbits(count)))
        conditions[tuple(ways)] += random.randint(1, 4)
    fewest = min(
        sum(
            weight
            for ways, weight in conditions.items()
            if all((thrown ^ way.thrown) & way.known for way in ways)
        )
        for thrown in range(1 << count)
    )
    found = best_compromise(conditions)
    assert found.broken == found.lower_bound == fewest
    bounded = best_compromise(conditions, width=3)
    assert bounded.lower_bound <= fewest <= bounded.broken
