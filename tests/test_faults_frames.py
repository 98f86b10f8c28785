"""Test frames: what they reveal and tell apart, held against each fault run alone and a bound."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest
from boards import CELL, COLUMN, GRID, board, grid_of
from broken_machines import Pictures, example, seen_of
from reference.frames_cpsat import least_revealing
from strategies import Limits, random_machine

import seqc
from seqc.faults import (
    Examiner,
    Fault,
    FaultKind,
    TestFrames,
    Why,
    find_test_frames,
    home_of,
    plain_tables,
)
from seqc.machine.findings import InputError
from seqc.machine.model import Machine
from seqc.machine.parts import Position
from seqc.simulator.lanes import UNKNOWN

FOREIGN = "foreign"


def foreign(machine: Machine) -> Pictures:
    """Items in all cells that are none of the machine's."""
    return {grid.name: (FOREIGN,) * len(grid.cells) for grid in machine.grids}


def guessed(machine: Machine, seen: list[Pictures], random: Random) -> list[Pictures]:
    """What is seen, with any item where the simulator can't know which it is."""
    kinds = [item.name for item in machine.items]
    return [
        {g: tuple(random.choice(kinds) if k == UNKNOWN else k for k in p) for g, p in each.items()}
        for each in seen
    ]


def hold_to_claims(machine: Machine, found: TestFrames, most: int, random: Random) -> None:
    """Each fault is seen and is in the answer, with only those that the frames don't tell from it.

    Of all faults at most so many are tried.
    """
    tables = plain_tables(machine, found.telling)
    before = foreign(machine)
    examiner = Examiner(machine, home_of(tables), before=before)
    for table in tables.tables:
        examiner.play(table)
    sound = seen_of(machine, tables, [], before)
    assert not examiner.diagnosed(sound).wrong
    alike = {fault: group for group in found.alike for fault in group}
    for fault in random.sample(list(alike), min(most, len(alike))):
        certain = seen_of(machine, tables, [fault], before)
        seen = guessed(machine, certain, random)
        if seen == sound:
            assert seen != certain, f"{fault} isn't seen"
            continue
        suspects = examiner.diagnosed(seen).singles
        causes = [cause for suspect in suspects for (cause,) in suspect.causes]
        assert fault in causes
        if seen == certain:
            others = {cause for cause in causes if not cause.is_passing}
            assert others <= {*alike[fault]}, f"{fault} isn't told from all others"


@pytest.mark.thorough
@pytest.mark.parametrize("mixed", [False, True], ids=["alike", "mixed"])
@pytest.mark.parametrize("seed", range(2))
def test_random_machines_show_each_fault(seed: int, mixed: bool) -> None:
    random = Random(seed)
    machine = random_machine(random, Limits(2, 3, 3, 3, mixed=mixed))
    hold_to_claims(machine, find_test_frames(machine), 40, random)


@pytest.mark.campaign
@pytest.mark.parametrize("seed", range(100))
def test_a_hundred_random_machines_show_each_fault(seed: int) -> None:
    random = Random(1000 + seed)
    machine = random_machine(random, Limits(3, 3, 3, 4))
    hold_to_claims(machine, find_test_frames(machine), 1_000, random)


@pytest.mark.thorough
@pytest.mark.parametrize(("name", "fewest"), [("berth_board", 2), ("pattern_board", 4)])
def test_the_examples_show_each_fault_in_the_fewest_frames(
    name: str, fewest: int, tmp_path: Path
) -> None:
    machine = example(name, tmp_path)
    found = find_test_frames(machine)
    assert len(found.revealing) == found.least_revealing == fewest
    assert len(found.telling) <= found.least_telling + 1
    hold_to_claims(machine, found, 25, Random(name))


@pytest.mark.quick(1)
@pytest.mark.parametrize(
    "machine",
    [
        board([grid_of(2, 2)]),
        board([grid_of(2, 3)], gates={"drop": CELL, "swap": GRID}),
        board([grid_of(4, 3)], gates={"drop": COLUMN}),
        board([grid_of(5, 3)]),
    ],
)
def test_at_most_one_frame_over_the_bound(machine: Machine) -> None:
    found = find_test_frames(machine)
    bound = least_revealing(machine)
    assert found.least_revealing <= bound <= len(found.revealing) <= bound + 1
    assert found.least_telling <= len(found.telling)


@pytest.mark.thorough
def test_frames_of_one_kind_alone() -> None:
    machine = board([grid_of(1, 2)])
    found = find_test_frames(machine, ("chalk",))
    kinds = {kind for frame in found.telling for glyph in frame for kind in glyph.kinds}
    assert kinds == {"chalk"}
    whole = find_test_frames(machine)
    assert {each.fault for each in found.hidden} > {each.fault for each in whole.hidden}


@pytest.mark.thorough
def test_why_a_fault_is_hidden() -> None:
    """A gate that stands open lets items on one by one; a slow last path brings them late."""
    found = find_test_frames(board([grid_of(1, 2)]))
    why = {each.fault.kind: each.why for each in found.hidden}
    assert why[FaultKind.LANE_SLOW] is Why.SOONER_OR_LATER
    stuck = next(each for each in found.hidden if each.fault.kind is FaultKind.STUCK)
    assert stuck.fault.position is Position.THROWN
    assert stuck.why is Why.SOONER_OR_LATER


def test_a_kind_that_no_lane_offers(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no lane of the machine offers an item `pearl`"):
        seqc.find_test_frames(example("berth_board", tmp_path), ("pearl",))


@pytest.mark.thorough
def test_equal_machines_get_equal_frames() -> None:
    def frames() -> tuple[Fault, ...] | object:
        found = find_test_frames(board([grid_of(1, 2)]))
        return found.telling, found.revealing, found.alike

    assert frames() == frames()
