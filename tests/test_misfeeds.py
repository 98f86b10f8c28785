"""Items that don't come: what it does to pictures, and how often."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from boards import ROW, board, glyph, grid_of
from forecast_runs import run_of
from handwritten import patient_tables
from malformed import BOARD

from seqc.forecast.misfeeds import MisfeedForecast, misfeeds
from seqc.forecast.tally import tally
from seqc.language import read_text
from seqc.machine.findings import Findings
from seqc.machine.model import Machine
from seqc.simulator import check
from seqc.simulator.mishaps import Misfeeds, Stuck

GRID = grid_of(1, 2)
MACHINE = board([GRID], selectors=(ROW,))
A = glyph(GRID, "00", name="a")
B = glyph(GRID, "11", name="b")
GLYPHS = {("numeral", one.name): one.kinds for one in (A, B)}
FRAMES = [A, B, A, B]


def told(stuck: Stuck | Misfeeds | None) -> list[tuple[str, str, str]]:
    """The faults of four frames: the table, the kind, the place."""
    faults = check(MACHINE, patient_tables(MACHINE, FRAMES), GLYPHS, mishaps=stuck).faults
    return [(fault.table, str(fault.kind), str(fault.cell)) for fault in faults]


def test_an_item_that_does_not_come_is_healed_by_the_next_frame() -> None:
    assert told(None) == []
    assert told(Stuck("drop", "numeral", [1], times=2)) == [
        ("a", "wrong-kind", "row 1 column 2"),
        ("b", "wrong-kind", "row 1 column 2"),
    ]


def test_an_item_that_stays_above_a_transfer_gate_jams_its_lane() -> None:
    faults = told(Stuck("swap", "numeral", [0]))
    assert faults[0] == ("a", "wrong-kind", "row 1 column 1")
    assert ("b", "arrives-at-full-place", "row 1 column 1") in faults
    assert all(cell == "row 1 column 1" for _, _, cell in faults)


def test_misfeeds_by_chance_come_as_often_as_they_are_told() -> None:
    items = tuple(replace(item, misfeed=0.25) for item in MACHINE.items)
    machine = replace(MACHINE, items=items)
    chance = Misfeeds(machine, 1)
    gate = machine.gates[0]
    stays = sum(chance.stays(gate, True, "slate", GRID, 0) for _ in range(4_000))
    assert stays == pytest.approx(1_000, abs=100)
    assert not any(chance.stays(gate, False, "slate", GRID, 0) for _ in range(100))
    assert told(Misfeeds(machine, 1))
    assert not told(Misfeeds(MACHINE, 1))


def machine_with(drop: float, swap: float, item: float) -> Machine:
    drops, swaps = MACHINE.gates
    gates = (replace(drops, misfeed=drop), replace(swaps, misfeed=swap))
    items = tuple(replace(each, misfeed=item) for each in MACHINE.items)
    lanes = tuple(replace(lane, gates=gates) for lane in MACHINE.lanes)
    return replace(MACHINE, items=items, gates=gates, lanes=lanes)


def test_what_misfeeds_do_in_a_day() -> None:
    """By hand: 2 items a second are 172,800 a day; of 1 in 20,000 come 8.64, of 1 in 100,000 1.73.

    A clean day has exp(-10.37), and 90 % where one in 172,800 / 0.10536 = 1,640,077 misfeeds.
    """
    run = run_of([["slate", "chalk"], ["chalk", "slate"]], 0)
    machine = machine_with(1 / 20_000, 1 / 100_000, 0.0)
    found = misfeeds(machine, tally(machine, run, 3_600_000_000))
    assert found is not None
    assert found.items_a_day == pytest.approx(172_800, rel=1e-3)
    assert found.healing_a_day == pytest.approx(8.64, rel=1e-3)
    assert found.jams_a_day == pytest.approx(1.728, rel=1e-3)
    assert found.visit_h == pytest.approx(24 / 1.728, rel=1e-3)
    assert found.clean_day == pytest.approx(math.exp(-10.368), rel=0.02)
    assert found.needed == pytest.approx(1_640_077, rel=1e-3)
    assert MisfeedForecast(1.0, 0.0, 10.0).visit_h is None


def test_gate_and_item_add_up_and_none_is_none() -> None:
    run = run_of([["slate", "chalk"]], 0)
    machine = machine_with(0.5, 0.0, 0.5)
    found = misfeeds(machine, tally(machine, run, 60_000_000))
    assert found is not None
    assert found.healing_a_day == pytest.approx(found.items_a_day * 0.75)
    assert misfeeds(MACHINE, tally(MACHINE, run, 60_000_000)) is None


def test_how_it_is_written() -> None:
    text = BOARD.replace("tone dark", "tone dark misfeed 1 in 20000")
    text = text.replace("open 60 ms", "open 60 ms misfeed 3 in 100000")
    findings = Findings()
    declared = read_text(text, "board.lanes", findings)
    assert not findings.reported
    assert declared is not None
    assert declared.machine.items[0].misfeed == 1 / 20_000
    assert [gate.misfeed for gate in declared.machine.gates] == [3 / 100_000, 0.0]
