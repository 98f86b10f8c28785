"""The ten numerals from 0 to 9 and round again on the berth board: three ways to order the passes.

Run with `pytest -s tests/bench/test_solver_numerals.py`; the figures are printed.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from pathlib import Path

from examples_on_disk import machine_file

import seqc
from bench.solver_boards import left_to_right
from seqc.machine.findings import Findings
from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.schedule.clock import ScheduleClock
from seqc.solver.frames import plan_frame
from seqc.solver.load_time.load_timer import LoadTimer
from seqc.solver.plan import FramePlan
from seqc.solver.positions import home
from seqc.solver.programme import plan_programme


def columns_of(machine: Machine, glyph: Glyph) -> list[int]:
    """The cells of each column that aren't of the first kind, as bits."""
    grid = machine.lanes[0].grid
    rest = machine.lanes[0].items[0].name
    codes = [0] * grid.columns
    for cell, kind in zip(grid.cells, glyph.kinds, strict=True):
        codes[cell.column - 1] |= (kind != rest) << cell.row
    return codes


def frame_by_frame(
    machine: Machine, frames: list[Frame], clock: LoadTimer | None = None
) -> list[FramePlan]:
    """The plans of one round when each frame is best by itself, after a first round."""
    start = home(len(machine.actuators))
    shown = None
    plans = []
    for frame in (*frames, *frames):
        plan = plan_frame(machine, frame, start, shown=shown, clock=clock)
        start, shown = start.then(plan.end), {glyph.grid: glyph for glyph in frame}
        plans.append(plan)
    return plans[len(frames) :]


def selector_pulses(plans: Iterable[FramePlan]) -> int:
    """The selector pulses of some plans."""
    return sum(grid.selector_pulses for plan in plans for grid in plan)


def plain_order(machine: Machine, frames: list[Frame]) -> int:
    """Selector pulses of one round with the different columns of each frame from the left."""
    pulses = 0
    for before, after in itertools.pairwise((frames[-1], *frames)):
        last = list(dict.fromkeys(columns_of(machine, before.glyphs[0])))[-1]
        pulses += left_to_right(columns_of(machine, after.glyphs[0]), last)
    return pulses


def test_pulses_of_the_numerals(tmp_path: Path) -> None:
    machine = seqc.read(machine_file("berth_board", tmp_path), Findings())
    frames = list(machine.programmes[0].frames)
    plan = plan_programme(machine, frames, home(len(machine.actuators)), repeat=True)
    joint = selector_pulses(plan.round)
    alone, plain = selector_pulses(frame_by_frame(machine, frames)), plain_order(machine, frames)
    print(f"\nselector pulses a round: joint {joint}, frame by frame {alone}, columns {plain}")
    print(f"the joint plan is {'proven best' if plan.proven else 'not proven'}")
    assert joint <= alone
    assert joint < plain


def test_load_times_of_the_numerals(tmp_path: Path) -> None:
    machine = seqc.read(machine_file("berth_board", tmp_path), Findings())
    frames = list(machine.programmes[0].frames)
    clock = ScheduleClock(machine)
    start = home(len(machine.actuators))
    plan = plan_programme(machine, frames, start, repeat=True, clock=clock)
    loads = [grid.load_us or 0 for each in frame_by_frame(machine, frames, clock) for grid in each]
    print(f"\nload times a round, jointly: at most {plan.cost.longest_us} us, ", end="")
    print(f"{plan.cost.load_us} us in all; frame by frame: {max(loads)} us, {sum(loads)} us")
    print(f"the joint plan is {'proven best' if plan.proven else 'not proven'}")
    assert plan.cost[1:3] <= (max(loads), sum(loads))
