"""Tables of commissioning on players: nothing moves until the line says so, nor after a fault."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from firmware.host import State, edges_of, needs, player_for
from firmware.scripts import MACHINE, shown

from seqc.machine.steptable import TablesFor

TABLES = replace(shown(clear=True), tables_for=TablesFor.COMMISSIONING)
HOME = ("hear home", "play 0 999")

pytestmark = needs("gcc")


def test_nothing_is_put_out_before_the_line_says_home(tmp_path: Path) -> None:
    heard = player_for(tmp_path, MACHINE, TABLES).play(
        ["state", "watch", "poll 5000000", "hear show 1", "hear status", "state"]
    )
    assert not heard.edges
    assert heard.states == [State.OFF, State.OFF]
    assert [line.split()[:2] for line in heard.said] == [["busy", "off"], ["status", "off"]]


def test_each_table_is_played_by_its_number(tmp_path: Path) -> None:
    script = [*HOME, "hear show 2", "play 0 99", "hear show 0", "play 0 99", "seen", "hear show 9"]
    heard = player_for(tmp_path, MACHINE, TABLES).play(script)
    assert heard.answer("seen") == [[0]]
    words = [word for _, word in heard.edges]
    tables = (TABLES.home, TABLES.clear, TABLES.tables[2], TABLES.tables[0])
    played = [word for table in tables if table for _, word in edges_of(table)]
    assert words == [MACHINE.idle_word, *played]
    assert heard.said[-1].startswith("unknown ready 0 ")


def test_a_fault_stays_until_the_line_says_home(tmp_path: Path) -> None:
    script = [*HOME, "hear show 1", "play 0 2", "fail 7", "state", "poll 90000000", "state"]
    heard = player_for(tmp_path, MACHINE, TABLES).play([*script, "hear show 1", *HOME, "state"])
    assert heard.states == [State.FAULT, State.FAULT, State.READY]
