"""Good tables show their pictures, on every kind of machine."""

from __future__ import annotations

import itertools
from collections import Counter
from dataclasses import replace

import pytest
from boards import CELL, COLUMN, GRID, ROW, SMALL, board, glyph, grid_of, letters
from handwritten import Patient, patient_tables, us, written

from seqc.machine.electrics import DriveKind
from seqc.machine.glyphs import Font, Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Branch, Cell, Item, Selector
from seqc.simulator import Replay, Simulator, check, replay, replay_edges

NUMERAL = grid_of(3, 2)
ROUND = glyph(NUMERAL, "00", "01", "10", name="round")
BAR = glyph(NUMERAL, "11", "01", "00", name="bar")

GAPPED = grid_of(3, 3, absent=(Cell(1, 1), Cell(2, 3)))
HOURS, MINUTES = grid_of(2, 2, name="hours"), grid_of(2, 3, name="minutes")

FRAMED = grid_of(3, 3)
SLATE, CHALK = Item("slate", stock=1_000), Item("chalk", stock=1_000)
TOP = frozenset(Cell(1, column) for column in (1, 2, 3))
TURNED = Branch(
    Selector("pick1", ROW, SMALL, 10_000, mirrored=frozenset({Cell(2, 2), Cell(3, 1)})),
    SLATE,
    CHALK,
)

BOARDS: dict[str, tuple[Machine, tuple[Glyph, ...]]] = {
    "absent cells": (
        board([GAPPED]),
        (glyph(GAPPED, "-01", "01-", "110"), glyph(GAPPED, "-10", "00-", "101", name="y")),
    ),
    "metering into the place that is seen": (
        board([NUMERAL], gates={"drop": COLUMN}),
        (ROUND, BAR),
    ),
    "several transfer gates": (
        board([NUMERAL], gates={"drop": COLUMN, "hold": COLUMN, "swap": GRID, "show": ROW}),
        (ROUND, BAR, ROUND),
    ),
    "a gate below the place that is seen": (
        board([NUMERAL], gates={"drop": COLUMN, "swap": GRID, "dump": COLUMN}, dumps=1),
        (ROUND, BAR, ROUND),
    ),
    "two gates below the place that is seen": (
        board([NUMERAL], gates={"drop": COLUMN, "swap": GRID, "dump": GRID, "out": ROW}, dumps=2),
        (ROUND, BAR, ROUND),
    ),
    "four kinds by nested selectors": (
        board([NUMERAL], kinds=4, selectors=(CELL, ROW, COLUMN), gates={"drop": CELL}),
        (glyph(NUMERAL, "01", "23", "32"), glyph(NUMERAL, "33", "20", "11", name="y")),
    ),
    "letter maps": (
        board([NUMERAL], selectors=(letters("ab", "ba", "cc"),), gates={"drop": CELL}),
        (ROUND, BAR),
    ),
    "constant cells and mirrored selectors": (
        board([FRAMED], feed=TURNED, others=((SLATE, TOP), (CHALK, frozenset({Cell(3, 3)})))),
        (
            glyph(FRAMED, "000", "010", "101"),
            glyph(FRAMED, "000", "101", "001", name="y"),
            glyph(FRAMED, "000", "010", "101", name="z"),
        ),
    ),
    "several grids": (
        board([HOURS, MINUTES]),
        (
            glyph(HOURS, "01", "10", name="h"),
            glyph(MINUTES, "011", "101", name="m"),
            glyph(HOURS, "11", "01", name="k"),
        ),
    ),
}


def pictures_of(glyphs: tuple[Glyph, ...]) -> dict[tuple[str, str], tuple[str, ...]]:
    return {(picture.grid, picture.name): picture.kinds for picture in glyphs}


def shown(machine: Machine, glyphs: tuple[Glyph, ...]) -> Replay:
    return check(machine, patient_tables(machine, glyphs), pictures_of(glyphs))


@pytest.mark.parametrize(("machine", "glyphs"), BOARDS.values(), ids=BOARDS)
def test_each_glyph_is_seen_at_the_end_of_its_table(
    machine: Machine, glyphs: tuple[Glyph, ...]
) -> None:
    outcome = shown(machine, glyphs)
    assert outcome.faults == ()
    assert outcome.unchecked == ()
    for picture, seen in zip(glyphs, outcome.seen[1:], strict=True):
        assert seen.pictures[picture.grid] == picture.kinds


@pytest.mark.parametrize("kind", DriveKind)
@pytest.mark.parametrize("switch", [False, True], ids=["", "pulse switch"])
@pytest.mark.parametrize("low", [False, True], ids=["active high", "active low"])
def test_each_drive_shows_its_picture(kind: DriveKind, switch: bool, low: bool) -> None:
    machine = board([NUMERAL], kind=kind, pulse_switch=switch, active_low=low)
    outcome = shown(machine, (ROUND, BAR))
    assert outcome.faults == ()
    assert outcome.seen[-1].pictures == {"numeral": BAR.kinds}


def test_a_grid_that_is_not_pulsed_keeps_its_picture() -> None:
    machine, glyphs = BOARDS["several grids"]
    seen = shown(machine, glyphs).seen
    assert [s.pictures["hours"] for s in seen] == [
        (None,) * 4,
        glyphs[0].kinds,
        glyphs[0].kinds,
        glyphs[2].kinds,
    ]


def test_home_leaves_every_item_where_it_is() -> None:
    machine = board([NUMERAL], gates={"drop": COLUMN, "swap": GRID, "dump": GRID}, dumps=1)
    patient = Patient(machine)
    patient.home()
    home = patient.table("home")
    patient.load(ROUND)
    patient.change("numeral")
    patient.load(BAR)
    interrupted = patient.table("round, and bar waiting")
    patient.change("numeral")
    change = patient.table("bar")
    simulator = Simulator(machine)
    for table in (home, interrupted, home):
        assert simulator.run(table).faults == ()
    assert simulator.pictures == {"numeral": ROUND.kinds}
    assert simulator.run(change).faults == ()
    assert simulator.pictures == {"numeral": BAR.kinds}


def test_a_pulse_to_the_present_position_moves_nothing() -> None:
    machine = board([NUMERAL])
    home = patient_tables(machine, ())[0]
    # Both selectors are at rest, so that they may be asserted even while the gate is thrown.
    script = "50 drop.c1 thrown\n60 pick1.r1 rest\n160 pick1.r1 rest 12\n200 drop.c1 rest"
    outcome = replay(machine, [home, written(machine, script, 900)])
    assert [fault.kind for fault in outcome.faults] == ["pulse-too-short"]
    assert outcome.taken == {"slate": 3}


def test_only_the_gates_that_are_operated_take_items() -> None:
    machine = board([NUMERAL])
    patient = Patient(machine)
    patient.home()
    patient.load(ROUND, [a for a in machine.actuators if a.name == "drop.c2"])
    patient.change("numeral")
    outcome = replay(machine, [patient.table()])
    assert outcome.faults == ()
    assert outcome.seen[-1].pictures == {
        "numeral": (None, "slate", None, "chalk", None, "slate"),
    }
    assert outcome.taken == {"slate": 2, "chalk": 1}


def test_pulses_and_contacts_are_counted() -> None:
    machine = board([NUMERAL], kind=DriveKind.SHARED_REVERSER, pulse_switch=True)
    tables = patient_tables(machine, (ROUND, BAR))
    outcome = replay(machine, tables)
    drawn = Counter(kind for picture in (ROUND, BAR) for kind in picture.kinds)
    assert outcome.taken == drawn
    gates = {"drop.c1": 5, "drop.c2": 5, "swap": 5}
    assert {name: n for name, n in outcome.pulses.items() if name in gates} == gates
    drive = machine.actuators[0].drive
    assert drive.switch is not None
    assert outcome.closings[drive.switch] == sum(outcome.pulses.values())
    for actuator in machine.actuators:
        assert outcome.closings[actuator.outputs[0]] == outcome.pulses[actuator.name]


def test_a_glyph_is_found_in_the_fonts_of_the_machine() -> None:
    machine = board([NUMERAL])
    tables = patient_tables(machine, (ROUND,))
    assert check(machine, tables).unchecked == ("round",)
    dressed = replace(machine, fonts=(Font("hand", NUMERAL, (ROUND, BAR)),))
    outcome = check(dressed, tables)
    assert outcome.faults == ()
    assert outcome.unchecked == ()


def test_a_recording_shows_what_its_tables_show() -> None:
    machine = board([NUMERAL])
    tables = patient_tables(machine, (ROUND, BAR))
    edges: list[tuple[int, int]] = []
    looks = list(itertools.accumulate(table.length_us for table in tables))
    for start, table in zip((0, *looks), tables, strict=False):
        edges += [(start + step.at_us, step.word) for step in table.steps]
    outcome = replay_edges(machine, edges, looks=looks)
    assert outcome.faults == ()
    assert [seen.pictures["numeral"] for seen in outcome.seen] == [
        (None,) * 6,
        ROUND.kinds,
        BAR.kinds,
    ]
    assert outcome.pulses == replay(machine, tables).pulses


def test_a_recording_on_another_clock_needs_a_tolerance() -> None:
    machine = board([NUMERAL])
    script = "50 drop.c1 rest\n50 drop.c2 rest\n50 swap rest\n200 pick1.r1 rest\n200 pick1.r2 rest"
    script += "\n200 pick1.r3 rest\n228.010 drop.c1 thrown 39.985\n400 drop.c1 rest"
    table = written(machine, script, 900)
    late = [(step.at_us + (step.at_us == us(190)) * 20, step.word) for step in table.steps]
    assert {f.kind.value for f in replay_edges(machine, late).faults} == {
        "pulse-too-short",
        "selector-not-settled",
    }
    assert replay_edges(machine, late, tolerance_us=20).faults == ()


def test_events_tell_what_happens_and_when() -> None:
    machine = board([grid_of(1, 1)], gates={"drop": GRID})
    home = written(machine, "20 drop rest\n120 pick1.r1 rest", 300, "home")
    load = written(machine, "20 drop thrown\n120 drop rest", 400, "x")
    events = replay(machine, [home, load], log=True).events
    place = "the place that is seen, row 1 column 1 of numeral"
    assert [(e.at_us / 1000, e.what, e.name, e.state) for e in events if e.at_us >= us(300)] == [
        (320, "relay", "output 2 (drop forward)", "closed"),
        (320, "coil", "drop", "forward"),
        (320, "position", "drop", "to thrown"),
        (338, "position", "drop", "thrown"),
        (338, "flight", place, "slate"),
        (360, "relay", "output 2 (drop forward)", "open"),
        (360, "coil", "drop", "off"),
        (420, "relay", "output 3 (drop reverse)", "closed"),
        (420, "coil", "drop", "reverse"),
        (420, "position", "drop", "to rest"),
        (438, "position", "drop", "rest"),
        (460, "relay", "output 3 (drop reverse)", "open"),
        (460, "coil", "drop", "off"),
        (638, "item", place, "slate"),
    ]


def test_a_wait_between_tables_counts_as_time() -> None:
    machine = board([NUMERAL])
    home, load = patient_tables(machine, (ROUND,))
    simulator = Simulator(machine)
    simulator.run(home)
    seen = simulator.run(load, at_us=home.length_us + 5_000_000)
    assert (seen.start_us, seen.end_us) == (
        home.length_us + 5_000_000,
        home.length_us + 5_000_000 + load.length_us,
    )
    assert seen.faults == ()
    assert seen.pictures == {"numeral": ROUND.kinds}
