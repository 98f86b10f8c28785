"""What broken machines show, worked out by hand, and that faults that share no cell don't meet."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest
from boards import CELL, ROW, board, glyph, grid_of
from broken_machines import empty, full, seen_of
from strategies import Limits, loadable_glyph, random_machine

from seqc.faults import Fault, FaultKind, faults_of, held_in, home_of, plain_tables
from seqc.faults.trials import Bench, Course
from seqc.machine.glyphs import Frame
from seqc.machine.parts import Branch, Item, Position
from seqc.simulator import SOUND, Simulator
from seqc.simulator.defects import Defects, Wiring, Works

GRID = grid_of(1, 2)
MACHINE = board([GRID], selectors=(CELL,))
FRAMES = [Frame((glyph(GRID, row, name=str(n)),)) for n, row in enumerate(("00", "10", "11", "01"))]
"""The left cell is to show slate, chalk, chalk, slate, the right one slate, slate, chalk, chalk."""

LEFT = ("numeral", 0, 0)
LEFT_PICK, RIGHT_PICK, LEFT_DROP, _, SWAP = range(5)
REST, THROWN = Position.REST, Position.THROWN


def left(defects: Defects, in_table: int | None = None) -> str:
    """What the left cell shows, by the first letters of kinds; `f` for what was there before."""
    kind = FaultKind.HELD_ONCE
    fault = Fault(kind, defects, frozenset({("numeral", 0)}), table=in_table)
    tables = plain_tables(MACHINE, FRAMES)
    before: dict[str, tuple[str | None, ...]] = {"numeral": ("foreign", "foreign")}
    seen = seen_of(MACHINE, tables, [fault], before)
    return "".join((pictures["numeral"][0] or "_")[0] for pictures in seen)


def works(**what: object) -> Defects:
    return Defects(works=Works(**{name: frozenset([one]) for name, one in what.items()}))  # type: ignore[arg-type]


def outputs(index: int) -> tuple[int, int]:
    forward, reverse = MACHINE.actuators[index].outputs
    return 1 << forward, 1 << reverse


def test_a_sound_machine_shows_what_is_asked() -> None:
    assert left(SOUND) == "sccs"


@pytest.mark.parametrize(
    ("defects", "shows"),
    [
        (works(blocked=LEFT), "ffff"),
        (works(blocked=("numeral", 1, 0)), "ffff"),
        (works(slow=LEFT), "fscc"),
        (works(slow=("numeral", 1, 0)), "sccs"),
        (works(doubled=LEFT), "sscc"),
        (works(sticking=(LEFT, "slate")), "fscc"),
        (works(sticking=(LEFT, "chalk")), "sscc"),
        (works(mixed=("numeral", 0, "slate", "chalk")), "cssc"),
        (works(stuck=(LEFT_PICK, REST)), "ssss"),
        (works(stuck=(LEFT_PICK, THROWN)), "cccc"),
        (works(stuck=(LEFT_DROP, REST)), "ffff"),
        (works(stuck=(LEFT_DROP, THROWN)), "ffff"),
        (works(stuck=(SWAP, REST)), "ffff"),
        (works(stuck=(SWAP, THROWN)), "sccs"),
        (works(loose=(LEFT_PICK, 0, THROWN)), "cccc"),
        (works(loose=(SWAP, 0, REST)), "ffff"),
        (works(loose=(SWAP, 1, REST)), "sccs"),
        (works(loose=(SWAP, 0, THROWN)), "sccs"),
    ],
)
def test_broken_parts_and_lanes(defects: Defects, shows: str) -> None:
    """Where a lane holds one item back, or lets two go, all that come after are late by one."""
    assert left(defects) == shows


def test_an_item_that_is_held_once() -> None:
    assert left(works(held=LEFT), 1) == "sscs"
    assert left(works(held=("numeral", 1, 0)), 1) == "sscc"


@pytest.mark.parametrize(
    ("wiring", "shows"),
    [
        (Wiring(turned=frozenset({LEFT_PICK})), "cssc"),
        (Wiring(exchanged=frozenset({(LEFT_PICK, RIGHT_PICK)})), "sscc"),
        (Wiring(off=outputs(LEFT_PICK)[0]), "ssss"),
        (Wiring(parted=outputs(LEFT_PICK)[0]), "ssss"),
        (Wiring(off=outputs(LEFT_PICK)[1]), "sccc"),
        (Wiring(parted=outputs(LEFT_PICK)[1]), "sccc"),
        (Wiring(on=outputs(LEFT_PICK)[0]), "cccc"),
        (Wiring(welded=outputs(LEFT_PICK)[0]), "cccc"),
        (Wiring(on=outputs(LEFT_PICK)[1]), "ssss"),
        (Wiring(off=outputs(LEFT_DROP)[0]), "ffff"),
        (Wiring(off=outputs(LEFT_DROP)[1]), "ssss"),
        (Wiring(off=outputs(RIGHT_PICK)[0]), "sccs"),
    ],
)
def test_wrong_wiring(wiring: Wiring, shows: str) -> None:
    """With both contacts of a pair closed no current flows, so a part stays where it is.

    The gate that can be thrown only once lets the first item go and none after it.
    """
    assert left(Defects(wiring)) == shows


def test_a_contact_that_is_welded_while_tables_run_acts_at_once() -> None:
    simulator = Simulator(MACHINE, stock=False)
    tables = plain_tables(MACHINE, FRAMES)
    simulator.run(tables.home)
    simulator.switch(Defects(Wiring(welded=outputs(LEFT_PICK)[0])))
    simulator.run(tables.tables[0])
    assert simulator.pictures["numeral"][0] == "chalk"


def test_only_steel_sticks_to_magnets() -> None:
    assert FaultKind.STICKS_AT_MAGNET not in {fault.kind for fault in faults_of(MACHINE)}
    feed = Branch(MACHINE.selectors[0], Item("slate", is_steel=True), Item("chalk"))
    machine = replace(MACHINE, lanes=(replace(MACHINE.lanes[0], feed=feed),))
    sticking = [f for f in faults_of(machine) if f.kind is FaultKind.STICKS_AT_MAGNET]
    assert {fault.kinds for fault in sticking} == {("slate",)}
    assert len(sticking) == 4


def test_a_part_that_moves_one_cell_has_no_linkage_to_break() -> None:
    broken = [f for f in faults_of(MACHINE) if f.kind is FaultKind.LINKAGE_BROKEN]
    assert {index for fault in broken for index in fault.actuators} == {SWAP}
    rows = board([GRID], selectors=(ROW,))
    assert len([f for f in faults_of(rows) if f.kind is FaultKind.LINKAGE_BROKEN]) == 8


@pytest.mark.quick(2)
@pytest.mark.parametrize("seed", range(12))
def test_faults_run_together_look_as_each_does_alone(seed: int) -> None:
    random = Random(seed)
    machine = random_machine(random, Limits(3, 3, 3, 4))
    frames = [Frame((loadable_glyph(random, machine, str(n)),)) for n in range(3)]
    tables = plain_tables(machine, frames)
    before = full(machine, random) if seed % 2 else empty(machine)
    faults = [*faults_of(machine), *held_in(machine, 1)]
    course = Course(Bench(machine, home_of(tables), before), [(fault,) for fault in faults])
    for table in tables.tables:
        course.play(table)
    for number in random.sample(range(len(faults)), min(25, len(faults))):
        alone = seen_of(machine, tables, [faults[number]], before)
        together = [dict(pictures) for pictures in course.sound]
        for picture, looks in zip(together, course.shown, strict=True):
            for (grid, cell), kind in zip(course.spots[number], looks[number], strict=True):
                row = picture[grid]
                picture[grid] = (*row[:cell], kind, *row[cell + 1 :])
        assert alone == together, faults[number]
