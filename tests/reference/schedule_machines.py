"""Small random machines with every drive, and plans for them, by seed."""

from __future__ import annotations

from random import Random

from boards import CELL, COLUMN, GRID, ROW, board, grid_of

from reference.schedule_planner import UnreachableError, left_to_right
from seqc.machine.electrics import DriveKind
from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.solver.plan import FramePlan


def random_machine(random: Random, size: int = 3, grids: int = 1) -> Machine:
    """One lane a grid, two kinds, up to two transfer and two dump gates, supply and falls short."""
    rows, columns = random.randint(1, size), random.randint(1, size)
    gates = {"drop": random.choice([COLUMN, COLUMN, CELL, GRID])}
    for number in range(random.choice([0, 1, 1, 1, 2])):
        gates[f"swap{number}"] = random.choice([GRID, COLUMN])
    dumps = random.choice([0, 0, 1, 2])
    for number in range(dumps):
        gates[f"dump{number}"] = random.choice([GRID, GRID, COLUMN])
    return board(
        [grid_of(rows, columns, name=f"g{number}") for number in range(grids)],
        selectors=(random.choice([ROW, CELL, ROW]),),
        gates=gates,
        dumps=dumps,
        kind=random.choice(list(DriveKind)),
        limit_ua=random.choice([2_600_000, 4_000_000, 6_000_000, 8_000_000]),
        active_low=random.random() < 0.5,
        fall_us=random.choice([5_000, 30_000, 60_000, 300_000]),
        pulse_switch=random.random() < 0.4,
    )


def random_plans(random: Random, machine: Machine, count: int) -> list[FramePlan]:
    """Plans of frames in a row, fewer where glyphs are out of reach."""
    plans: list[FramePlan] = []
    for name in range(count):
        for _ in range(20):
            start = plans[-1].grids[-1].end if plans else None
            try:
                plans.append(left_to_right(machine, _glyphs(random, machine, str(name)), start))
            except UnreachableError:
                continue
            break
    return plans


def _glyphs(random: Random, machine: Machine, name: str) -> list[Glyph]:
    kinds = [item.name for item in machine.items]
    return [
        Glyph(name, "hand", grid.name, tuple(random.choice(kinds) for _ in grid.cells))
        for grid in machine.grids
    ]
