"""A trace has what a replay has, each different thing once."""

from __future__ import annotations

from pathlib import Path

from examples_on_disk import machine_of, tables_of

from seqc.machine.steptable import TablesFor
from seqc.simulator import replay
from seqc.simulator.faults import Event
from seqc.simulator.trace import Trace, trace


def told(found: Trace) -> list[Event]:
    """All events of a trace on one line of time."""
    events: list[Event] = []
    start_us = 0
    for run in found.runs:
        own = [*found.electric[run.electric].events]
        for kept, number in zip(found.grids, run.grids, strict=True):
            own += kept[number].events
        events += [event.moved(start_us) for event in sorted(own, key=lambda e: e.at_us)]
        start_us += run.table.length_us
    return events


def test_it_tells_the_events_of_a_replay(tmp_path: Path) -> None:
    machine = machine_of("berth_board", tmp_path)
    tables = list(tables_of(machine, TablesFor.PROGRAMME))
    assert told(trace(machine, tables)) == list(replay(machine, tables, log=True).events)


def test_what_comes_again_is_kept_once(tmp_path: Path) -> None:
    machine = machine_of("berth_board", tmp_path)
    table_set = tables_of(machine, TablesFor.PROGRAMME)
    assert table_set.repeat_from is not None
    round_trip = table_set.tables[table_set.repeat_from :]
    once = trace(machine, [*table_set, *round_trip])
    often = trace(machine, [*table_set, *round_trip * 20])
    assert len(often.runs) == len(once.runs) + 19 * len(round_trip)
    assert len(often.electric) == len(once.electric)
    assert [len(kept) for kept in often.grids] == [len(kept) for kept in once.grids]


def test_a_round_goes_on_where_it_finds_the_machine_as_before(tmp_path: Path) -> None:
    """At first nothing is seen; from the second round on each tick begins with the last numeral."""
    machine = machine_of("berth_board", tmp_path)
    tables = tables_of(machine, TablesFor.PROGRAMME)
    assert tables.repeat_from is not None
    round_trip = tables.tables[tables.repeat_from :]
    found = trace(machine, tables, round_trip)
    assert found.recurs_at is not None
    beyond = trace(machine, [*tables, *round_trip * 3]).runs
    count = len(found.runs)
    ahead = len(found.runs[found.recurs_at :])
    wanted = [found.runs[found.recurs_at + n % ahead] for n in range(2 * ahead)]
    assert [(r.electric, r.grids) for r in beyond[count : count + 2 * ahead]] == [
        (r.electric, r.grids) for r in wanted
    ]


def test_a_grid_that_rests_has_one_segment(tmp_path: Path) -> None:
    """The same numeral over and over: after the first time nothing moves."""
    machine = machine_of("berth_board", tmp_path)
    home = tables_of(machine, TablesFor.GLYPH).home
    quiet = trace(machine, [home, *[home.__class__("wait", (), 1_000_000)] * 5])
    assert len(quiet.runs) == 6
    assert len({run.grids for run in quiet.runs[2:]}) == 1
