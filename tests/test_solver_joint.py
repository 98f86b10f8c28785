"""Programmes whose frames leave actuators open, planned jointly: held against brute force.

Cells are absent, kinds are three and come by several routes, only changed columns are loaded. Every
setting between any two frames is tried by the reference.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from random import Random

import pytest
from boards import COLUMN, GRID, KINDS, ROW, SMALL, board, grid_of
from reference.brute import Setting
from reference.rounds import Reference
from solver_cases import frame, load_of, positions_of, random_setting, replayed
from strategies import loadable_glyph
from test_solver_programme import changing

from seqc.machine.effort import NORMAL, Effort
from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Branch, Cell, Feed, Item, Selector
from seqc.solver.frames import plan_frame
from seqc.solver.plan import ProgrammePlan
from seqc.solver.positions import Positions
from seqc.solver.programme import plan_programme


@dataclass(frozen=True)
class Case:
    machine: Machine
    glyphs: list[Glyph]
    start: Setting
    reference: Reference

    @property
    def at(self) -> Positions:
        return positions_of(self.machine, self.start)

    def plan(self, *, repeat: bool, effort: Effort = NORMAL) -> ProgrammePlan:
        frames = list(map(frame, self.glyphs))
        return plan_programme(self.machine, frames, self.at, repeat=repeat, effort=effort)

    def least_line(self) -> int:
        return min(self.reference.line(self.glyphs, self.start, None).values())

    def least_round(self) -> int:
        return self.reference.round(self.glyphs, self.start)


def some_feed(random: Random) -> Feed:
    """Two or three kinds by rows; of three one may come by two routes."""
    items = [Item(name, stock=1_000) for name in KINDS[:3]]
    row = [Selector(f"pick{number}", ROW, SMALL, 10_000) for number in range(3)]
    return random.choice(
        (
            Branch(row[0], items[0], items[1]),
            Branch(row[0], items[0], Branch(row[1], items[1], items[2])),
            Branch(row[0], items[0], Branch(row[1], items[1], items[0])),
        )
    )


def some_case(seed: int) -> Case:
    random = Random(seed)
    whole = random.random() < 0.4
    feed = some_feed(random)
    rows = 4 if isinstance(feed, Branch) and isinstance(feed.thrown, Item) else 2
    columns = random.randint(2, 4)
    cells = [Cell(r, c) for r in range(1, rows + 1) for c in range(1, columns + 1)]
    absent = [cell for cell in cells[1:] if random.random() < random.choice((0.2, 0.5))]
    machine = board(
        [grid_of(rows, columns, absent)],
        kinds=3,
        feed=feed,
        gates={"drop": COLUMN, "swap": GRID if whole else COLUMN},
    )
    count = random.randint(2, 4)
    glyphs = [loadable_glyph(random, machine, str(number)) for number in range(count)]
    if not whole:
        glyphs[1:] = [partly_new(random, machine, *pair) for pair in itertools.pairwise(glyphs)]
    start = random_setting(random, machine)
    return Case(machine, changing(glyphs), start, Reference(machine, whole))


def partly_new(random: Random, machine: Machine, old: Glyph, new: Glyph) -> Glyph:
    """The new glyph with some columns of the old one."""
    kept = {column for column in range(1, 5) if random.random() < 0.4}
    cells = machine.grids[0].cells
    kinds = tuple(
        a if cell.column in kept else b
        for cell, a, b in zip(cells, old.kinds, new.kinds, strict=True)
    )
    return Glyph(new.name, new.font, new.grid, kinds)


def selector_pulses(plan: ProgrammePlan) -> int:
    return sum(grid.selector_pulses for each in plan.round for grid in each)


def least_selector_pulses(plan: ProgrammePlan) -> int:
    return plan.lower_bound.pulses - (plan.pulses - selector_pulses(plan))


def by_frames(case: Case) -> int:
    """The selector pulses of frames that are each planned by themselves."""
    at, pulses = case.at, 0
    shown: dict[str, Glyph] = {}
    for each in case.glyphs:
        (plan,) = plan_frame(case.machine, frame(each), at, shown=shown)
        at, pulses = plan.end, pulses + plan.selector_pulses
        shown[each.grid] = each
    return pulses


@pytest.mark.quick(6)
@pytest.mark.parametrize("seed", range(60))
def test_a_line_with_open_needs_takes_the_fewest_pulses(seed: int) -> None:
    case = some_case(seed)
    plan = case.plan(repeat=False)
    assert selector_pulses(plan) == case.least_line()
    assert plan.proven
    shown: Glyph | None = None
    for each, glyph in zip(plan.plans, case.glyphs, strict=True):
        groups = case.reference.load(glyph, shown).groups
        replayed(each.grids[0], load_of(case.machine, glyph, groups))
        shown = glyph


@pytest.mark.quick(6)
@pytest.mark.parametrize("seed", range(60))
def test_a_round_with_open_needs_takes_the_fewest_pulses(seed: int) -> None:
    case = some_case(seed)
    if len(case.glyphs) == 1:
        return
    plan = case.plan(repeat=True)
    assert selector_pulses(plan) == case.least_round()
    assert plan.proven
    assert plan.again is not None
    assert plan.again.end == plan.plans[0].end


@pytest.mark.quick(6)
@pytest.mark.parametrize("seed", range(60))
def test_what_is_not_tried_is_bounded(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    random = Random(seed)
    monkeypatch.setattr("seqc.solver.joint.ends.MOST_ENDS", random.choice((0, 64)))
    effort = replace(NORMAL, plan_nodes=random.choice((0, 50, 40_000)))
    monkeypatch.setattr("seqc.solver.joint.line.MOST_NODES", random.choice((1, 256)))
    monkeypatch.setattr("seqc.solver.joint.chains.MOST_CUTS", random.choice((1, 64)))
    case = some_case(seed)
    line = case.plan(repeat=False, effort=effort)
    best = case.least_line()
    assert least_selector_pulses(line) <= best <= selector_pulses(line) <= by_frames(case)
    assert line.proven == (least_selector_pulses(line) == selector_pulses(line))
    if len(case.glyphs) > 1:
        turn = case.plan(repeat=True, effort=effort)
        assert least_selector_pulses(turn) <= case.least_round() <= selector_pulses(turn)
