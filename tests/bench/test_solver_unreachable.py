"""Repairs and nearest pictures of 100 random glyphs that one gate for all puts out of reach.

Run with `pytest -s tests/bench/test_solver_unreachable.py`; the figures are printed.
"""

from __future__ import annotations

import resource
import time
from random import Random

import pytest
from boards import COLUMN, GRID, KINDS, ROW, board, grid_of
from unreachable import why_lost

from seqc.machine.glyphs import Glyph
from seqc.machine.parts import Linkage
from seqc.solver.reach.nearest import nearest_picture
from seqc.solver.reach.remedy import remedy_of

GLYPHS = 100


@pytest.mark.parametrize(
    "size, kinds, gate, selector",
    [
        (16, 2, GRID, ROW),
        (16, 2, GRID, GRID),
        (16, 2, COLUMN, COLUMN),
        (16, 4, COLUMN, GRID),
        (32, 2, GRID, ROW),
        (64, 2, GRID, ROW),
    ],
)
def test_repair(size: int, kinds: int, gate: Linkage, selector: Linkage) -> None:
    grid = grid_of(size, size)
    machine = board([grid], kinds=kinds, selectors=(selector,), gates={"drop": gate})
    random = Random(1)
    pictures = [tuple(random.choices(KINDS[:kinds], k=size * size)) for _ in range(GLYPHS)]
    glyphs = [Glyph(f"g{n}", "random", grid.name, some) for n, some in enumerate(pictures)]
    begun = time.process_time()
    reach = why_lost(machine, glyphs)
    repair = remedy_of(machine, grid.name, glyphs).repair
    repaired = time.process_time()
    nearest = [nearest_picture(machine, glyph) for glyph in reach.beyond]
    spent = time.process_time() - repaired
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"\n{size} square, {kinds} kinds, gate {gate}, selectors {selector}: "
        f"{len(reach.beyond)} of {GLYPHS} out of reach, {repair.added} actuators more "
        f"(at least {repair.lower_bound}) in {repaired - begun:.2f} s; "
        f"nearest pictures in {spent:.2f} s; at most {peak:.0f} MiB"
    )
    assert repair.proven
    assert all(near.proven for near in nearest)
