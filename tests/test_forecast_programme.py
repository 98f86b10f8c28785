"""The run of a programme against its own step tables, read edge by edge."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import pytest
from boards import CARD, OWN_WIRES, board, glyph, grid_of
from forecast_runs import SECOND_US

from seqc.forecast.currents import bursts_of, peaks_of
from seqc.forecast.programme import run_of
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


def drawn_a2s(machine: Machine, table: StepTable, relay_a: float, always_a: float) -> float:
    """The I2t of a table of changeover pairs with exact parts, millisecond by millisecond.

    A coil draws from 10 ms after its output becomes active to 6 ms after it no longer is.
    """
    coil_a = {n: a.coil.current_ua / 1e6 for a in machine.actuators for n in a.outputs}
    drawn_a = [always_a] * (table.length_us // 1_000)
    ends = [*(step.at_us for step in table.steps[1:]), table.length_us]
    was, since = machine.idle_word, dict.fromkeys(coil_a, 0)
    for step, end_us in zip(table.steps, ends, strict=True):
        for output in coil_a:
            bit = 1 << output
            if (step.word ^ machine.idle_word) & bit:
                for at in range(step.at_us // 1_000, end_us // 1_000):
                    drawn_a[at] += relay_a
            if (step.word ^ was) & (was ^ machine.idle_word) & bit:
                for at in range(since[output] + 10, step.at_us // 1_000 + 6):
                    drawn_a[at] += coil_a[output]
            if (step.word ^ was) & (step.word ^ machine.idle_word) & bit:
                since[output] = step.at_us // 1_000
        was = step.word
    return sum(one**2 for one in drawn_a) / 1_000


def test_bursts_count_the_coils_of_relays_and_the_controller() -> None:
    """In 10 s come five of the heaviest ticks."""
    bare = board([GRID], limit_ua=8_000_000)
    bench = replace(bare.supplies[0], always_ua=150_000)
    relay = replace(CARD, coil_ua=72_000, coil_supply=bench)
    drive = replace(bare.actuators[0].drive, supply=bench, relay=relay)
    actuators = tuple(replace(each, drive=drive) for each in bare.actuators)
    machine = replace(bare, supplies=(bench,), actuators=actuators)
    timing = timed(machine)
    burst_us, bursts = bursts_of(timing)
    tables = programme_tables(machine, timing)
    assert tables.repeat_from is not None
    cycle = tables.tables[tables.repeat_from :]
    heaviest = max(drawn_a2s(machine, table, 0.072, 0.15) for table in cycle)
    assert burst_us == 10 * SECOND_US
    assert bursts == {"bench": pytest.approx(5 * heaviest)}
    coils_alone = max(drawn_a2s(machine, table, 0, 0) for table in cycle)
    assert heaviest > 1.05 * coils_alone
