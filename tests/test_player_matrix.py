"""The generated player compiles without a warning and makes exactly the edges of its tables."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from firmware.handmade import frame, machine_of, random_table, table_set
from firmware.host import State, edges_of, needs, player_for

from seqc.codegen.checks import rest_us
from seqc.machine.steptable import TableSet, TablesFor

WIDTHS = [(1,), (2,), (7,), (8,), (9,), (17,), (24,), (33,), (64,), (70,), (3, 5), (20, 30, 20)]
START_US = 1_000

pytestmark = needs("gcc")


def script(tables: TableSet) -> list[str]:
    """Home, then every table once."""
    lines = [f"at {START_US}", "home", "play 0 1000", "state"]
    if tables.tables_for is TablesFor.PROGRAMME:
        steps = sum(len(table.steps) for table in tables.tables)
        return [*lines, "run", f"play 0 {steps}", "state", "stop", "state"]
    for rank in range(len(tables.tables)):
        lines += [f"show {rank}", "play 0 1000", "seen", "state"]
    return lines


@pytest.mark.quick(4, 30)
@pytest.mark.parametrize("bits", WIDTHS, ids=lambda bits: "+".join(map(str, bits)))
@pytest.mark.parametrize("low", [False, True], ids=["high", "low"])
@pytest.mark.parametrize("tables_for", list(TablesFor), ids=lambda tables_for: tables_for.value)
def test_player_makes_the_edges_of_its_tables(
    tmp_path: Path, tables_for: TablesFor, low: bool, bits: tuple[int, ...]
) -> None:
    machine = machine_of(*bits, low=low)
    tables = table_set(machine, tables_for)
    heard = player_for(tmp_path, machine, tables).play(script(tables))
    expected = [(START_US, machine.idle_word)]
    start_us = START_US + rest_us(machine)
    for table in tables:
        expected += edges_of(table, start_us)
        start_us += table.length_us
    if tables_for is TablesFor.PROGRAMME:
        last = expected[-1][0]
        assert heard.edges[-1] == (last, machine.idle_word), "stop makes the outputs inactive"
        assert list(heard.edges[:-1]) == expected
        assert heard.states == [State.READY, State.BUSY, State.STOPPED]
    else:
        assert list(heard.edges) == expected
        assert heard.states == [State.READY] * 4
        assert heard.answer("seen") == [[0], [1], [2]]


LARGE = {
    "more than 65535 steps, 250 tables and 65535 us of slack": (290, 230, 100_000),
    "two bytes for a frame": (700, 2, 20_000),
}


@pytest.mark.thorough
@pytest.mark.parametrize("case", LARGE)
def test_large_table_sets_take_wider_numbers(tmp_path: Path, case: str) -> None:
    count, steps, slack_us = LARGE[case]
    machine = machine_of(40, low=True)
    tables = tuple(
        replace(
            random_table(machine, f"show {n}", n, steps),
            shows=frame(str(n)),
            after=frame(str(n - 1)) if n else (),
        )
        for n in range(count)
    )
    made = replace(table_set(machine, TablesFor.TRANSITION), tables=tables, slack_us=slack_us)
    player = player_for(tmp_path, machine, made)
    # Home comes once all of the tables are checked, a piece of them at each poll.
    lines = ["home", "play 0 99999"]
    for n in range(count):
        lines += [f"show {n}", "play 0 1000"]
    heard = player.play([*lines, "seen"])
    expected = [(0, machine.idle_word), *edges_of(made.home, rest_us(machine))]
    start_us = rest_us(machine) + made.home.length_us
    for one in tables:
        expected += edges_of(one, start_us)
        start_us += one.length_us
    assert list(heard.edges) == [(at % 2**32, word) for at, word in expected]
    assert heard.answer("seen") == [[count - 1]]
