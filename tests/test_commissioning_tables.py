"""Tables of commissioning: proven, in any order, each with what it is named after."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path
from random import Random

import pytest
from odd_boards import BOARDS
from strategies import Limits, random_machine

import seqc
from seqc.codegen.target import Budget
from seqc.commission import proof
from seqc.machine.findings import Findings, ShortfallError
from seqc.machine.model import Machine
from seqc.machine.tolerances import with_scaled_tolerances
from seqc.schedule.commissioning import Commissioning, Named, Step
from seqc.simulator import Event, Replay, Simulator

EXAMPLES = Path(seqc.__file__).parent / "examples"
BOARD = "berth_board"


@cache
def machine_of(name: str) -> Machine:
    return seqc.read(EXAMPLES / f"{name}.lanes", Findings())


@cache
def made(name: str = BOARD) -> Commissioning:
    return seqc.commissioning(machine_of(name), with_test_frames=False)


def of_step(commissioning: Commissioning, step: Step) -> list[Named]:
    return [one for one in commissioning.named if one.step is step]


def at_home(commissioning: Commissioning, machine: Machine) -> Simulator:
    """A machine that has come home."""
    simulator = Simulator(machine, log=True, stock=False)
    frame = commissioning.frame
    for table in (frame.home, *([frame.clear] if frame.clear else [])):
        simulator.run(table)
    return simulator


def currents(events: tuple[Event, ...]) -> Iterator[tuple[str, str, int]]:
    """Every current in a coil: the actuator, its polarity and how long it lasts."""
    since: dict[str, tuple[str, int]] = {}
    for event in events:
        if event.what != "coil":
            continue
        if event.name in since:
            polarity, start = since.pop(event.name)
            yield event.name, polarity, event.at_us - start
        if event.state != "off":
            since[event.name] = event.state, event.at_us
    assert not since


@pytest.mark.quick(1)
@pytest.mark.parametrize("name", [BOARD, "pattern_board", "harbour_clock"])
def test_every_table_is_proven_on_its_machine(name: str) -> None:
    found = made(name)
    assert not seqc.commissioning_faults(found, found.table_set)
    assert {one.step for one in found.named} == {*Step} - {Step.TESTS}


@pytest.mark.thorough
def test_what_was_written_simulates_without_a_fault(tmp_path: Path) -> None:
    seqc.build_commissioning(made(), seqc.targets_named(["json"]), tmp_path)
    replay = seqc.replay(machine_of(BOARD), seqc.read_tables(tmp_path / "json"))
    assert not replay.faults
    assert not replay.unchecked
    assert {seen.table for seen in replay.seen} >= {one.name for one in made().named}


@pytest.mark.thorough
def test_test_frames_are_among_the_tables() -> None:
    found = seqc.commissioning(machine_of(BOARD))
    tests = [one.shows[0].kinds for one in of_step(found, Step.TESTS)]
    wanted = seqc.find_test_frames(found.machine).telling
    assert tests == [glyph.kinds for frame in wanted for glyph in frame]
    assert not seqc.commissioning_faults(found, found.table_set)


@pytest.mark.quick(0)
@pytest.mark.parametrize("name", BOARDS)
def test_tables_of_other_boards_are_proven(name: str, tmp_path: Path) -> None:
    path = tmp_path / "board.lanes"
    path.write_text(BOARDS[name], "utf-8")
    found = seqc.commissioning(seqc.read(path, Findings()), with_test_frames=False)
    assert not seqc.commissioning_faults(found, found.table_set)


@pytest.mark.quick(1)
@pytest.mark.parametrize("mixed", [True, False], ids=["mixed", "alike"])
@pytest.mark.parametrize("seed", range(1, 9))
def test_tables_of_random_machines_are_proven(seed: int, mixed: bool) -> None:
    machine = random_machine(Random(seed), Limits(mixed=mixed))
    found = seqc.commissioning(machine, with_test_frames=False)
    assert not seqc.commissioning_faults(found, found.table_set)


@pytest.mark.thorough
def test_tables_follow_each_other_in_any_order() -> None:
    found = made()
    declared = [one.table for one in found.named if one.machine is found.machine]
    for seed in range(3):
        shuffled = tuple(Random(seed).sample(declared, len(declared)))
        tables = replace(found.table_set, tables=shuffled)
        assert not seqc.replay(found.machine, tables, found.wanted).faults


def test_each_actuator_gets_a_pulse_of_each_polarity() -> None:
    found = made()
    tables = of_step(found, Step.ACTUATORS)
    assert [one.actuator for one in tables] == list(range(len(found.machine.actuators)))
    for one in tables:
        own = found.machine.actuators[one.actuator or 0].name
        run = at_home(found, found.machine).run(one.table)
        polarities = [polarity for name, polarity, _ in currents(run.events) if name == own]
        assert polarities == ["forward", "reverse"]


@pytest.mark.quick(1)
@pytest.mark.parametrize("name", [BOARD, "pattern_board"])
def test_an_item_of_each_kind_comes_down_each_lane(name: str) -> None:
    found = made(name)
    seen: set[tuple[str, int, str | None]] = set()
    for one in of_step(found, Step.LANES):
        run = at_home(found, found.machine).run(one.table)
        seen |= {(one.grid, n, kind) for n, kind in enumerate(run.pictures[one.grid])}
    assert seen >= {
        (lane.grid.name, number, item.name)
        for lane in found.machine.lanes
        for number in range(len(lane.grid.cells))
        for item in lane.items
    }


def test_no_coil_passes_its_duty_however_often_a_table_is_played() -> None:
    found = made()
    for one in found.named:
        coils = {actuator.name: actuator.coil for actuator in one.machine.actuators}
        run = at_home(found, one.machine).run(one.table)
        on_us: Counter[str] = Counter()
        for name, _, length in currents(run.events):
            assert length <= coils[name].longest_us
            on_us[name] += length
        for name, total in on_us.items():
            assert total * 1_000_000 <= (coils[name].duty_ppm or 0) * one.table.length_us


def test_a_table_that_leaves_a_selector_thrown_is_no_table_of_commissioning() -> None:
    found = made()
    names = [one.name for one in found.named]
    table = found.named[0].table
    assert names[0] == "move pick.r1"
    steps = (*table.steps[:2], replace(table.steps[2], word=found.machine.idle_word))
    half = replace(table, steps=steps[:3])
    tables = replace(found.table_set, tables=(half, *found.table_set.tables[1:]))
    codes = {finding.code for finding in seqc.commissioning_faults(found, tables)}
    assert "left-thrown" in codes


def test_tables_that_only_some_draw_breaks_are_refused() -> None:
    """Those made for exact parts hold on nominal ones, and not on all that vary as declared."""
    exact = seqc.commissioning(with_scaled_tolerances(machine_of(BOARD), 0), with_test_frames=False)
    found, tables = (
        made().part(of_step(made(), Step.GLYPHS)),
        exact.part(of_step(exact, Step.GLYPHS)),
    )
    assert not proof.replayed(found, tables.table_set).faults
    assert seqc.sample(found.machine, tables.table_set, count=5).faulty
    findings = seqc.commissioning_faults(found, tables.table_set)
    assert findings
    assert all("with parts that vary as declared" in finding.message for finding in findings)


def test_no_table_ends_before_the_latest_part_is_at_rest() -> None:
    """Cut to where a nominal machine has just come home, a table leaves some draw still moving."""
    found = made()
    table = found.named[0].table
    assert found.named[0].machine is found.machine

    def faults(length_us: int, replayed: Callable[..., Replay]) -> set[str]:
        cut = replace(table, length_us=length_us)
        own = found.part(found.named[:1])
        return {str(f.kind) for f in replayed(own, replace(own.table_set, tables=(cut,))).faults}

    lengths = range(table.steps[-1].at_us, table.length_us)
    shortest = bisect_left(lengths, True, key=lambda us: not faults(us, proof.replayed))
    assert not faults(lengths[shortest], proof.replayed)
    assert faults(lengths[shortest], proof.replayed_bounds) == {"left-moving"}


@pytest.mark.thorough
def test_a_small_controller_gets_its_tables_in_parts(tmp_path: Path) -> None:
    found = made()
    (target,) = seqc.targets_named(["avr"])
    assert len(seqc.divided(found, target)) == 1
    assert target.budget is not None
    small = replace(target, budget=replace(target.budget, flash_bytes=9_500))
    parts = seqc.divided(found, small)
    assert len(parts) > 1
    names = [one.name for part in parts for one in part.named if one.step is not Step.PARKING]
    assert names == [one.name for one in found.named if one.step is not Step.PARKING]
    assert all(part.named[-1].step is Step.PARKING for part in parts)
    written = seqc.build_commissioning(found, [small], tmp_path / "out")
    folders = {path.relative_to(tmp_path / "out").parts[0] for path in written}
    expected = {f"part_{number}" for number in range(1, len(parts) + 1)}
    assert folders == {*expected, "commissioning.csv"}


def test_a_controller_too_small_for_one_table_is_refused(tmp_path: Path) -> None:
    (target,) = seqc.targets_named(["avr"])
    tiny = replace(target, budget=Budget(6_400, 2_048, 6_272, 288))
    with pytest.raises(ShortfallError):
        seqc.build_commissioning(made(), [tiny], tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_values_of_tuning_are_stepped_within_what_a_coil_bears() -> None:
    found = made()
    traits = [one.trait for one in of_step(found, Step.TUNING) if one.trait]
    assert {trait.setting for trait in traits} == {"pulse", "open", "every"}
    for coil in {actuator.coil for actuator in found.machine.actuators}:
        values = [trait.value_us for trait in traits if trait.name == coil.name]
        assert coil.pulse_us in values
        assert min(values) >= coil.travel.most_us
        assert max(values) < coil.longest_us


def test_no_lateness_that_is_allowed_holds_a_coil_too_long() -> None:
    table_set, machine = made().table_set, made().machine
    owners = {output: actuator for actuator in machine.actuators for output in actuator.outputs}
    for table in table_set:
        ends = [*(step.at_us for step in table.steps[1:]), table.length_us]
        active: dict[int, int] = {}
        for step, end in zip(table.steps, ends, strict=True):
            for output, actuator in owners.items():
                on = (step.word ^ machine.idle_word) >> output & 1
                active[output] = active.get(output, 0) + end - step.at_us if on else 0
                drive, coil = actuator.drive, actuator.coil
                over_us = drive.stops.most_us - drive.starts.least_us
                if on:
                    longest_us = active[output] + over_us + table_set.slack_us
                    assert longest_us <= coil.longest_us, f"{actuator} in {table.name}"
