"""From the examples' machine files to recordings of the compiled player, seen in the simulator."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest
from boards import SHOWING
from examples_on_disk import machine_of, tables_of
from firmware.host import Heard, State, changes, edges_of, needs, player_for

import seqc
from seqc.codegen.checks import rest_us
from seqc.examples import EXAMPLES
from seqc.machine.model import Machine
from seqc.machine.steptable import StepTable, TableSet, TablesFor
from seqc.simulator import replay_edges

START_US = 5_000
POLLS = 100_000


def played(tables: TableSet, folder: Path, machine: Machine) -> tuple[Heard, list[StepTable]]:
    """What the compiled player puts out when it shows everything, and the tables it ran."""
    player = player_for(folder, machine, tables)
    lines = [f"at {START_US}", "home", f"play 0 {POLLS}"]
    if tables.tables_for is TablesFor.PROGRAMME:
        run = [*tables.tables, *tables.tables[tables.repeat_from or 0 :]]
        clear = [tables.clear] if tables.clear else []
        polls = sum(len(table.steps) + 1 for table in (*clear, *run))
        return player.play([*lines, "run", f"play 0 {polls}", "state"]), run
    run = order_of(tables)
    numbers = [frame_number(tables, table) for table in run]
    for number in numbers:
        lines += [f"show {number}", f"play 0 {POLLS}", "state"]
    return player.play(lines), run


def order_of(tables: TableSet) -> list[StepTable]:
    """Every table once or more, each after a table that shows what it needs."""
    entry = {table.shows: table for table in tables.tables if not table.after}
    order: list[StepTable] = []
    for table in tables.tables:
        if table.after:
            order += walk_to(tables, order[-1].shows, table, entry)
        else:
            order += [table] if not order or tables.tables_for is TablesFor.GLYPH else []
    return order


def walk_to(
    tables: TableSet,
    seen: tuple[tuple[str, str], ...],
    wanted: StepTable,
    entry: dict[tuple[tuple[str, str], ...], StepTable],
) -> list[StepTable]:
    """The tables from what is seen to a transition, that transition last."""
    assert wanted.after in entry
    if seen == wanted.after:
        return [wanted]
    way = next(t for t in tables.tables if t.after == seen and t.shows == wanted.after)
    return [way, wanted]


def frame_number(tables: TableSet, table: StepTable) -> int:
    """The number by which the player knows what a table shows: its place among all frames."""
    frames = list(dict.fromkeys(one.shows for one in tables.tables))
    return frames.index(table.shows)


def expected_edges(tables: TableSet, run: Sequence[StepTable], at_us: int) -> list[tuple[int, int]]:
    """The edges of home, of what clears, and of these tables, one after the other."""
    edges = []
    clear = [tables.clear] if tables.clear else []
    for table in (tables.home, *clear, *run):
        edges += edges_of(table, at_us)
        at_us += table.length_us
    return edges


@pytest.mark.quick(2)
@needs("gcc")
@pytest.mark.parametrize("tables_for", SHOWING, ids=lambda tables_for: tables_for.value)
@pytest.mark.parametrize("example", sorted(EXAMPLES))
def test_the_compiled_player_shows_every_glyph(
    example: str, tables_for: TablesFor, tmp_path: Path
) -> None:
    machine = machine_of(example, tmp_path)
    tables = tables_of(machine, tables_for)
    heard, run = played(tables, tmp_path / "firmware", machine)

    home_us = START_US + rest_us(machine)
    idle = (START_US, machine.idle_word)
    wanted = changes([idle, *expected_edges(tables, run, home_us)])
    assert changes(heard.edges)[: len(wanted)] == wanted
    assert set(heard.states) <= {State.READY, State.BUSY}

    ends = []
    at_us = home_us + tables.home.length_us + (tables.clear.length_us if tables.clear else 0)
    for table in run:
        at_us += table.length_us
        ends.append(at_us - 1)
    recorded = [edge for edge in heard.edges if edge[0] <= ends[-1]]
    replay = replay_edges(machine, recorded, looks=ends, stock=False)
    assert not replay.faults
    for table, seen in zip(run, replay.seen, strict=False):
        for grid, name in table.shows:
            assert seen.pictures[grid] == machine.fonts[0].by_name[name].kinds, table.name
    shown = {name for table in run for _, name in table.shows}
    assert shown == {glyph.name for frame in machine.programmes[0].frames for glyph in frame}


@pytest.mark.quick(3)
@pytest.mark.parametrize("tables_for", SHOWING, ids=lambda tables_for: tables_for.value)
@pytest.mark.parametrize("example", sorted(EXAMPLES))
def test_the_tables_of_every_kind_pass_the_simulator(
    example: str, tables_for: TablesFor, tmp_path: Path
) -> None:
    machine = machine_of(example, tmp_path)
    replay = seqc.replay(machine, tables_of(machine, tables_for))
    assert not replay.faults
    assert not replay.unchecked


@pytest.mark.parametrize("example", sorted(EXAMPLES))
def test_the_examples_keep_their_cadence(example: str, tmp_path: Path) -> None:
    machine = machine_of(example, tmp_path)
    planned = seqc.plan(machine, seqc.asked(machine))
    assert planned.timing.kept


@pytest.mark.quick(1)
@pytest.mark.parametrize("example", sorted(EXAMPLES))
def test_what_is_preferred_comes_next_after_the_passes(example: str, tmp_path: Path) -> None:
    machine = machine_of(example, tmp_path)
    quick = seqc.plan(machine, seqc.asked(machine), seqc.LOAD_TIME)
    calm = seqc.plan(machine, seqc.asked(machine), seqc.PULSES)
    assert all(plan.proven for plan in calm.plan.plans)
    assert calm.plan.pulses < quick.plan.pulses
    for one, other in zip(quick.plan.plans, calm.plan.plans, strict=True):
        assert [len(grid.passes) for grid in one] == [len(grid.passes) for grid in other]
    # Only the first frame starts from the same positions in both.
    assert quick.timing.frames[0].load_time_us <= calm.timing.frames[0].load_time_us
