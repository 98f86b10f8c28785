"""The run of a programme against its own step tables, read edge by edge."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import pairwise

import pytest
from boards import OWN_WIRES, board, glyph, grid_of
from forecast_runs import SECOND_US

from seqc.forecast.programme import peaks_of, run_of
from seqc.forecast.tally import tally
from seqc.machine.electrics import DriveKind
from seqc.machine.glyphs import Frame, Programme
from seqc.machine.model import Machine
from seqc.machine.steptable import StepTable
from seqc.schedule.tables import programme_tables
from seqc.schedule.timing import ProgrammeTiming, time_programme
from seqc.solver.positions import home
from seqc.solver.programme import plan_programme

GRID = grid_of(3, 2)
PICTURES = (("01", "10", "00"), ("11", "10", "01"), ("00", "01", "11"))
FRAMES = tuple(Frame((glyph(GRID, *rows, name=str(n)),)) for n, rows in enumerate(PICTURES))


def timed(
    machine: Machine, frames: Sequence[Frame] = FRAMES, repeat: bool = True
) -> ProgrammeTiming:
    programme = Programme("count", tuple(frames), 2 * SECOND_US, repeat)
    start = home(len(machine.actuators))
    plan = plan_programme(machine, programme.frames, start, repeat=repeat)
    return time_programme(machine, plan, programme.every_us)


def activations(tables: Sequence[StepTable], idle: int, width: int) -> Counter[int]:
    """How often each output becomes active while the tables run one after the other."""
    words = [idle, *(step.word for table in tables for step in table.steps)]
    found: Counter[int] = Counter()
    for before, after in pairwise(words):
        risen = ~(before ^ idle) & (after ^ idle)
        found.update(output for output in range(width) if risen >> output & 1)
    return found


@pytest.mark.parametrize("kind", OWN_WIRES)
@pytest.mark.parametrize("pulse_switch", [False, True])
def test_wear_is_what_the_step_tables_switch(kind: DriveKind, pulse_switch: bool) -> None:
    machine = board([GRID], kind=kind, pulse_switch=pulse_switch)
    timing = timed(machine)
    tables = programme_tables(machine, timing)
    assert tables.repeat_from is not None
    cycle = tables.tables[tables.repeat_from :]
    seen = activations(cycle, machine.idle_word, machine.width)
    run = run_of(machine, timing)
    once, twice = (
        tally(machine, run, (1 + rounds * len(FRAMES)) * run.every_us) for rounds in (1, 2)
    )
    for actuator in machine.actuators:
        forward = twice.forward[actuator.index] - once.forward[actuator.index]
        reverse = twice.reverse[actuator.index] - once.reverse[actuator.index]
        counted = [seen[output] for output in actuator.outputs]
        shared = kind is DriveKind.SHARED_REVERSER
        assert counted == ([forward + reverse] if shared else [forward, reverse])
    for output, turns in twice.turns.items():
        assert turns - once.turns[output] == seen[output]


def test_every_cell_draws_what_the_frame_shows() -> None:
    machine = board([GRID], stock=1_000)
    run = run_of(machine, timed(machine))
    assert [use.draws[0].kinds for use in run.frames] == [
        frame.glyphs[0].kinds for frame in (*FRAMES, FRAMES[0])
    ]
    assert run.repeat_from == 1


def test_a_programme_that_ends_has_no_cycle() -> None:
    machine = board([GRID])
    run = run_of(machine, timed(machine, repeat=False))
    assert (len(run.frames), run.repeat_from) == (3, None)


def test_grids_that_stay_as_they_are_draw_nothing() -> None:
    grids = [grid_of(1, 2, name="tens"), grid_of(1, 2, name="units")]
    machine = board(grids)
    still, first, second = (
        glyph(grids[0], "01"),
        glyph(grids[1], "01", name="a"),
        glyph(grids[1], "10", name="b"),
    )
    frames = [Frame((still, first)), Frame((still, second))]
    run = run_of(machine, timed(machine, frames))
    assert [[draw.grid for draw in use.draws] for use in run.frames] == [
        ["tens", "units"],
        ["units"],
        ["units"],
    ]


def test_frames_that_do_the_same_share_one_use() -> None:
    machine = board([GRID])
    run = run_of(machine, timed(machine, FRAMES * 4))
    assert len(set(run.frames)) <= 2 * len(FRAMES) + 1


def test_the_peak_is_within_the_limit_that_the_schedule_keeps() -> None:
    for limit_ua in (2_800_000, 6_000_000):
        machine = board([GRID], limit_ua=limit_ua)
        peak = peaks_of(timed(machine))["bench"]
        small = machine.actuators[0].coil.current_ua
        assert small <= peak <= machine.supplies[0].usable_ua
