"""Machines beyond the examples go the whole way, to the compiled player and back."""

from __future__ import annotations

from pathlib import Path

import pytest
from boards import SHOWING
from firmware.host import State, changes, needs
from odd_boards import BOARDS
from test_end_to_end import START_US, expected_edges, played

import seqc
from seqc.codegen.checks import rest_us
from seqc.machine.findings import Findings
from seqc.machine.model import Machine
from seqc.machine.steptable import TablesFor
from seqc.simulator import replay_edges


def machine_of(name: str, folder: Path) -> Machine:
    path = folder / f"{name}.lanes"
    path.write_text(BOARDS[name], "utf-8")
    findings = Findings()
    machine = seqc.read(path, findings)
    assert [str(finding) for finding in findings] == []
    return machine


@pytest.mark.quick(6)
@pytest.mark.parametrize("tables_for", SHOWING, ids=lambda tables_for: tables_for.value)
@pytest.mark.parametrize("name", BOARDS)
def test_tables_of_every_kind_pass_the_simulator(
    name: str, tables_for: TablesFor, tmp_path: Path
) -> None:
    machine = machine_of(name, tmp_path)
    programme = seqc.asked(machine)
    replay = seqc.replay(machine, seqc.tables(machine, programme, tables_for), programme)
    assert not replay.faults
    assert not replay.unchecked


@pytest.mark.quick(2)
@needs("gcc")
@pytest.mark.parametrize("tables_for", SHOWING, ids=lambda tables_for: tables_for.value)
@pytest.mark.parametrize("name", BOARDS)
def test_the_compiled_player_shows_every_glyph(
    name: str, tables_for: TablesFor, tmp_path: Path
) -> None:
    machine = machine_of(name, tmp_path)
    tables = seqc.tables(machine, seqc.asked(machine), tables_for)
    heard, run = played(tables, tmp_path / "firmware", machine)
    assert set(heard.states) <= {State.READY, State.BUSY}
    at_us = START_US + rest_us(machine)
    wanted = changes([(START_US, machine.idle_word), *expected_edges(tables, run, at_us)])
    assert changes(heard.edges)[: len(wanted)] == wanted

    at_us += tables.home.length_us + (tables.clear.length_us if tables.clear else 0)
    ends = []
    for table in run:
        at_us += table.length_us
        ends.append(at_us - 1)
    recorded = [edge for edge in heard.edges if edge[0] <= ends[-1]]
    replay = replay_edges(machine, recorded, looks=ends, stock=False)
    assert not replay.faults
    drawn = {(f.grid.name, glyph.name): glyph.kinds for f in machine.fonts for glyph in f.glyphs}
    seen = [(table, picture) for table, picture in zip(run, replay.seen, strict=False)]
    shown = [(grid, name, s.pictures[grid]) for t, s in seen for grid, name in t.shows]
    assert {(grid, name) for grid, name, _ in shown} == set(drawn)
    assert all(picture == drawn[grid, name] for grid, name, picture in shown)
