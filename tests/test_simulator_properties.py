"""What must hold for any tables, good or bad."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace

import pytest
from boards import COLUMN, GRID, board, glyph, grid_of
from handwritten import from_edges, patient_tables
from hypothesis import given, settings
from hypothesis import strategies as st
from test_simulator_faults import HOME, LOAD, edited, run, small_board
from test_simulator_reference import cut, wild_edges

from seqc.machine.electrics import DriveKind
from seqc.machine.model import Machine
from seqc.machine.steptable import Step, StepTable
from seqc.simulator import Fault, Simulator, check, memory, replay

MACHINE = board(
    [grid_of(2, 2)], gates={"drop": COLUMN, "swap": GRID, "dump": GRID}, dumps=1, limit_ua=5_000_000
)
LENGTH_MS = 5000

seeds = st.integers(0, 2**32)
few = settings(max_examples=25, deadline=None)


def wild_table(machine: Machine, seed: int) -> StepTable:
    edges = wild_edges(machine, random.Random(seed), LENGTH_MS)
    return from_edges(machine, edges, 1000 * (LENGTH_MS + 500), f"wild {seed}")


def told(fault: Fault, start_us: int = 0) -> tuple[object, ...]:
    """All of a fault but the name of its table, and its time from a start."""
    return fault.kind, fault.at_us - start_us, fault.what, fault.actuator, fault.grid, fault.cell


@few
@given(seeds, st.integers(1, 10**9))
def test_a_delay_of_everything_changes_nothing_but_the_times(seed: int, delay_us: int) -> None:
    table = wild_table(MACHINE, seed)
    prompt, late = Simulator(MACHINE), Simulator(MACHINE)
    seen, later = prompt.run(table), late.run(table, at_us=delay_us)
    assert [told(f) for f in seen.faults] == [told(f, delay_us) for f in later.faults]
    assert seen.pictures == later.pictures
    assert prompt.pulses == late.pulses


@few
@given(seeds, st.lists(st.integers(0, 1000 * LENGTH_MS), max_size=20))
def test_words_that_change_nothing_change_nothing(seed: int, times: list[int]) -> None:
    table = wild_table(MACHINE, seed)
    words = {step.at_us: step.word for step in table.steps}
    for at_us in times:
        before = max(step.at_us for step in table.steps if step.at_us <= at_us)
        words.setdefault(at_us, words[before])
    longer = replace(table, steps=tuple(Step(*pair) for pair in sorted(words.items())))
    assert replay(MACHINE, [longer]) == replay(MACHINE, [table])


@few
@given(seeds, st.lists(st.integers(1, 1000 * LENGTH_MS), max_size=6))
def test_a_table_cut_in_pieces_does_the_same(seed: int, cuts: list[int]) -> None:
    table = wild_table(MACHINE, seed)
    whole, pieces = Simulator(MACHINE), Simulator(MACHINE)
    seen = whole.run(table)
    faults = [
        fault
        for piece in cut(table.steps, [*sorted(set(cuts)), table.length_us])
        for fault in pieces.run(piece).faults
    ]
    assert {told(fault) for fault in faults} == {told(fault) for fault in seen.faults}
    assert len(faults) == len(seen.faults)
    assert pieces.pictures == seen.pictures
    assert pieces.taken == whole.taken


@pytest.mark.thorough
@few
@given(st.lists(st.integers(0, 3), min_size=2, max_size=12), seeds)
def test_memory_changes_nothing(order: list[int], seed: int) -> None:
    tables = [wild_table(MACHINE, seed + rank) for rank in range(4)]
    remembering, forgetting = Simulator(MACHINE), Simulator(MACHINE)
    for rank in order:
        seen = remembering.run(tables[rank])
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(memory.Memory, "recall", lambda _self, _key, work_out: work_out())
            assert seen == forgetting.run(tables[rank])
    assert remembering.pulses == forgetting.pulses
    assert remembering.closings == forgetting.closings
    assert remembering.left == forgetting.left


def test_memory_is_bounded_and_forgetting_changes_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    tables = [wild_table(MACHINE, seed) for seed in (1, 2, 3)] * 3
    expected = replay(MACHINE, tables)
    monkeypatch.setattr(memory, "MOST_REMEMBERED", 2)
    assert replay(MACHINE, tables) == expected
    kept: memory.Memory[int] = memory.Memory()
    assert [kept.recall(key, lambda: 7) for key in range(100)] == [7] * 100
    assert len(kept) <= 2


@few
@given(seeds, st.sampled_from(DriveKind))
def test_the_active_level_makes_no_difference(seed: int, kind: DriveKind) -> None:
    low, high = (board([grid_of(2, 2)], kind=kind, active_low=level) for level in (True, False))
    assert replay(low, [wild_table(low, seed)]) == replay(high, [wild_table(high, seed)])


@pytest.mark.parametrize("line", [" ".join(line.split()) for line in LOAD.split("\n") if line])
def test_no_pulse_of_a_good_table_can_be_left_out(line: str) -> None:
    assert run(small_board(), load=edited(LOAD, line, "")).faults


# The load sets pick1.r2 before any gate is thrown, so that it does without being homed.
@pytest.mark.parametrize("line", HOME.replace("120 pick1.r2 rest", "").strip().split("\n"))
def test_no_pulse_of_home_can_be_left_out(line: str) -> None:
    assert run(small_board(), home=edited(HOME, line, "")).faults


def test_tables_that_assert_every_selector_may_run_in_any_order() -> None:
    grid = grid_of(2, 2)
    machine = board([grid])
    glyphs = [
        glyph(grid, *rows, name="".join(rows))
        for rows in (("01", "10"), ("11", "00"), ("00", "01"))
    ]
    drawn = {(grid.name, picture.name): picture.kinds for picture in glyphs}
    home, *tables = patient_tables(machine, glyphs)
    for order in itertools.permutations(tables):
        outcome = check(machine, [home, *order, order[0]], drawn)
        assert (outcome.faults, outcome.unchecked) == ((), ())
