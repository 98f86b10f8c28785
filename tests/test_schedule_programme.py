"""Programmes: the cadence kept or missed, tables on one line of time, repetition."""

from __future__ import annotations

import itertools
from dataclasses import replace
from random import Random

import pytest
from boards import CELL, COLUMN, GRID, board, glyph, grid_of
from reference.schedule_machines import random_machine, random_plans
from reference.schedule_planner import left_to_right

from seqc.machine.effort import NORMAL
from seqc.machine.glyphs import Frame
from seqc.machine.model import Machine
from seqc.machine.steptable import TablesFor
from seqc.schedule.chain import shares
from seqc.schedule.durations import Durations
from seqc.schedule.home import home_pulses, wait_us
from seqc.schedule.tables import glyph_tables, programme_tables, transition_tables
from seqc.schedule.timing import ProgrammeTiming, time_programme
from seqc.schedule.topology import Topology
from seqc.simulator.simulator import Simulator
from seqc.solver.plan import FramePlan, ProgrammePlan
from seqc.solver.positions import home
from seqc.solver.programme import plan_programme

SECOND = 1_000_000
BRIEF = replace(NORMAL, schedule_nodes=20)


def counting(machine: Machine, *shapes: list[str], repeat: bool = False) -> ProgrammePlan:
    plans: list[FramePlan] = []
    start = None
    for number, rows in enumerate(shapes):
        drawn = glyph(machine.grids[0], *rows, name=str(number))
        plans.append(left_to_right(machine, [drawn], start))
        start = plans[-1].grids[0].end
    if not repeat:
        return ProgrammePlan(tuple(plans))
    again = left_to_right(machine, [plans[0].grids[0].glyph], start)
    return ProgrammePlan(tuple(plans), again)


def board_timing(every_us: int, repeat: bool = False) -> tuple[Machine, ProgrammeTiming]:
    machine = board([grid_of(3, 2)])
    plan = counting(
        machine, ["01", "11", "00"], ["11", "01", "10"], ["00", "10", "01"], repeat=repeat
    )
    return machine, time_programme(machine, plan, every_us)


def test_a_cadence_that_can_be_kept_is_kept_exactly() -> None:
    machine, timing = board_timing(SECOND)
    assert timing.kept
    assert timing.beat_us == SECOND >= timing.period_us
    tables = programme_tables(machine, timing)
    assert [table.name for table in tables.tables] == ["load 0", "tick 1", "tick 2", "tick 3"]
    assert {table.length_us for table in tables.tables[1:]} == {SECOND}


def test_a_cadence_that_is_too_quick_becomes_the_shortest_beat() -> None:
    machine, timing = board_timing(100_000)
    assert not timing.kept
    assert timing.beat_us == timing.period_us > 100_000
    tables = programme_tables(machine, timing)
    assert {table.length_us for table in tables.tables[1:3]} == {timing.beat_us}


@pytest.mark.parametrize("every_us", [100_000, SECOND])
def test_the_picture_changes_on_the_beat(every_us: int) -> None:
    machine, timing = board_timing(every_us, repeat=True)
    tables = programme_tables(machine, timing)
    swaps = [
        (table.name, pulse.start_us)
        for table, tick in zip(tables.tables[1:], timing.ticks, strict=True)
        for pulse in tick.pulses
        if pulse.actuator.name == "swap" and pulse.position.value == "thrown"
    ]
    assert swaps == [("tick 1", 0), ("tick 2", 0), ("tick 3", 0)]
    assert tables.repeat_from == 1


def test_the_longest_tick_sets_the_period_and_its_chain_adds_up() -> None:
    _, timing = board_timing(100_000)
    assert timing.period_us == max(tick.period_us for tick in timing.ticks)
    chain = timing.critical_chain
    assert sum(link.length_us for link in chain) == timing.period_us
    assert sum(part for _, part in shares(chain)) == timing.period_us
    for before, after in itertools.pairwise(chain):
        assert before.to_us == after.from_us
        assert before.task == after.after
    assert "transit drop to swap" in timing.limits


def test_spare_time_is_what_is_left_when_the_machine_is_quiet() -> None:
    machine, timing = board_timing(SECOND, repeat=True)
    assert 0 < timing.spare_us <= SECOND - timing.period_us
    assert programme_tables(machine, timing).spare_us == timing.spare_us
    _, hurried = board_timing(100_000, repeat=True)
    assert hurried.spare_us < timing.spare_us


def test_a_tick_may_start_early_by_the_spare_time() -> None:
    machine, timing = board_timing(SECOND, repeat=True)
    tables = programme_tables(machine, timing)
    simulator = Simulator(machine)
    now = 0
    for table in (*tables, *tables.tables[1:]):
        seen = simulator.run(
            table.__class__(
                table.name,
                table.steps,
                table.length_us - (timing.spare_us if table.name.startswith("tick") else 0),
            ),
            now,
        )
        now = seen.end_us
        assert seen.faults == ()


def test_a_first_change_that_differs_later_is_given_a_tick_of_its_own() -> None:
    # Without a transfer gate the passes are the change, and those from the home position are not
    # those from the last frame's positions.
    machine = board([grid_of(1, 2)], gates={"drop": COLUMN})
    plan = counting(machine, ["11"], ["00"], ["11"], ["01"], repeat=True)
    timing = time_programme(machine, plan, SECOND)
    tables = programme_tables(machine, timing)
    assert tables.repeat_from == 2
    assert [table.name for table in tables.tables][-1] == "tick 5"
    simulator = Simulator(machine)
    for table in (*tables, *tables.tables[2:], *tables.tables[2:]):
        seen = simulator.run(table)
        assert seen.faults == ()
        shown = dict(table.shows).get("numeral")
        if shown:
            assert seen.pictures["numeral"] == plan.plans[int(shown)].grids[0].glyph.kinds


def test_shows_and_after_follow_the_programme() -> None:
    machine, timing = board_timing(SECOND)
    tables = programme_tables(machine, timing).tables
    assert [table.shows for table in tables] == [
        (),
        (("numeral", "0"),),
        (("numeral", "1"),),
        (("numeral", "2"),),
    ]
    assert [table.after for table in tables[1:]] == [(), tables[1].shows, tables[2].shows]


def test_names_are_unique() -> None:
    machine = board([grid_of(1, 1)])
    plans = [left_to_right(machine, [glyph(machine.grids[0], s, name="0")]) for s in "01"]
    tables = glyph_tables(machine, plans)
    assert tables.tables_for is TablesFor.GLYPH
    assert [table.name for table in tables.tables] == ["0", "0 (2)"]


def test_transitions_are_named_by_both_frames() -> None:
    machine = board([grid_of(1, 1)])
    zero, one = (left_to_right(machine, [glyph(machine.grids[0], s, name=s)]) for s in "01")
    tables = transition_tables(machine, {(zero.frame, one.frame): one})
    (table,) = tables.tables
    assert table.name == "0 to 1"
    assert table.after == (("numeral", "0"),)
    assert table.shows == (("numeral", "1"),)


def test_home_drives_gates_to_rest_from_below_then_selectors() -> None:
    machine = board([grid_of(2, 2)], gates={"drop": CELL, "swap": GRID, "dump": GRID}, dumps=1)
    pulses = home_pulses(machine).pulses
    assert {pulse.position.value for pulse in pulses} == {"rest"}
    assert sorted(p.actuator.index for p in pulses) == list(range(len(machine.actuators)))
    order = ["dump", "swap", "drop", "pick1"]
    ends = {
        name: max(
            p.start_us + p.actuator.settled_us for p in pulses if p.actuator.part.name == name
        )
        for name in order
    }
    begins = {
        name: min(p.start_us for p in pulses if p.actuator.part.name == name) for name in order
    }
    for before, after in itertools.pairwise(order):
        assert begins[after] >= ends[before]
    # A coil that a reset has just switched off recovers for 90 ms, its relay releases in 6.
    assert begins["dump"] == wait_us(Topology(machine)) == 96_000


def test_slack_is_the_least_that_any_coil_bears() -> None:
    machine = board([grid_of(1, 1)])
    tables = glyph_tables(machine, [left_to_right(machine, [glyph(machine.grids[0], "1")])])
    # The small coil bears 80 ms of its 40, the large one 120 of its 60.
    assert tables.slack_us == 40_000


@pytest.mark.thorough
def test_every_table_begins_at_0_and_ends_idle_unless_a_tick_goes_on() -> None:
    for seed in range(20):
        random = Random(seed)
        machine = random_machine(random)
        plans = random_plans(random, machine, 3)
        if plans:
            timing = time_programme(machine, ProgrammePlan(tuple(plans)), 300_000, BRIEF)
            tables = programme_tables(machine, timing)
            for table in tables:
                assert table.steps[0].at_us == 0
                assert list(table.steps) == sorted(table.steps, key=lambda step: step.at_us)
                assert table.steps[-1].at_us < table.length_us
            for table in (tables.home, tables.tables[0], tables.tables[-1]):
                assert table.steps[-1].word == machine.idle_word


def test_a_clear_table_lets_go_of_what_was_left() -> None:
    gates = {"drop": COLUMN, "hold": GRID, "swap": GRID, "dump": GRID}
    machine = board([grid_of(1, 1)], gates=gates, dumps=1)
    plan = left_to_right(machine, [glyph(machine.grids[0], "1")])
    tables = glyph_tables(machine, [plan])
    assert tables.clear is not None
    simulator = Simulator(machine)
    assert simulator.run(tables.home).faults == ()
    # Cut off the frame while its item lies above the first transfer gate.
    loading = tables.tables[0]
    begun = tuple(step for step in loading.steps if step.at_us < 300_000)
    simulator.run(type(loading)("begun", begun, 600_000))
    for table in (tables.home, tables.clear, loading):
        seen = simulator.run(table)
        assert seen.faults == (), table.name
    assert seen.pictures["numeral"] == plan.grids[0].glyph.kinds


def test_a_clear_table_lets_go_of_what_is_seen_before_what_waits_above_it() -> None:
    gates = {"drop": COLUMN, "swap": GRID, "dump": GRID}
    machine = board([grid_of(1, 1)], gates=gates, dumps=1)
    plan = counting(machine, ["1"], ["0"], ["1"])
    tables = programme_tables(machine, time_programme(machine, plan, SECOND))
    assert tables.clear is not None
    # After the first tick one item is seen, and the next one lies above the transfer gate.
    simulator = Simulator(machine)
    for table in (tables.home, tables.clear, *tables.tables[:2], tables.home, tables.clear):
        assert simulator.run(table).faults == (), table.name


def test_no_clear_table_where_nothing_can_wait() -> None:
    machine = board([grid_of(1, 1)], gates={"drop": GRID})
    tables = glyph_tables(machine, [left_to_right(machine, [glyph(machine.grids[0], "1")])])
    assert tables.clear is None


def test_the_offset_of_every_change_is_the_lead() -> None:
    machine, timing = board_timing(SECOND)
    tables = programme_tables(machine, timing)
    active = [
        next(step.at_us for step in table.steps if step.word != machine.idle_word)
        for table in tables.tables[1:]
    ]
    # The output of the transfer gate leads its pulse by all of the lead, so it is at 0.
    assert Durations(machine).lead_us == 10_000
    assert active == [0, 0, 0]


def test_a_frame_that_stays_needs_no_pulse_and_parts_move_alone() -> None:
    # With a transfer gate for each column, a frame that differs in one column moves that alone.
    machine = board([grid_of(2, 2)], gates={"drop": COLUMN, "swap": COLUMN})
    shapes = [("10", "01"), ("10", "01"), ("11", "00"), ("10", "01")]
    frames = [
        Frame((glyph(machine.grids[0], *rows, name=str(number)),))
        for number, rows in enumerate(shapes)
    ]
    start = home(len(machine.actuators))
    plan = plan_programme(machine, frames, start, repeat=True)
    timing = time_programme(machine, plan, SECOND)
    assert [p.actuator.name for p in timing.ticks[1].pulses if p.actuator.part.name == "swap"] == []
    tables = programme_tables(machine, timing)
    assert tables.repeat_from is not None
    simulator = Simulator(machine)
    for table in (*tables, *tables.tables[tables.repeat_from :]):
        seen = simulator.run(table)
        assert seen.faults == ()
        shown = dict(table.shows).get("numeral")
        if shown:
            assert seen.pictures["numeral"] == frames[int(shown)].glyphs[0].kinds
    moved = {p.actuator.name for p in timing.ticks[2].pulses if p.actuator.part.name == "swap"}
    assert moved == {"swap.c2"}
