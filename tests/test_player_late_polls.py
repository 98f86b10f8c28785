"""A player that is polled coarsely still keeps every rule of the machine, and its cadence."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest
from examples_on_disk import machine_file, machine_of, tables_of
from firmware.host import State, edges_of, needs, player_for

import seqc
from seqc.examples import EXAMPLES
from seqc.machine.findings import Findings
from seqc.machine.steptable import TablesFor
from seqc.simulator import replay_edges

pytestmark = needs("gcc")


@pytest.mark.quick(1)
@pytest.mark.parametrize("every_us", [97, 700, 1_000])
@pytest.mark.parametrize("example", sorted(EXAMPLES))
def test_coarse_polling_breaks_no_rule_by_more_than_two_polls(
    example: str, every_us: int, tmp_path: Path
) -> None:
    machine = machine_of(example, tmp_path)
    tables = tables_of(machine, TablesFor.PROGRAMME)
    player = player_for(tmp_path / "c", machine, tables)
    begin_us = tables.home.length_us + 1_000_000
    cadence_us = tables.tables[-1].length_us
    end_us = begin_us + 2_000_000 + (len(tables.tables) + 1) * cadence_us
    polls = [f"until {begin_us} {every_us}", "run", f"until {end_us} {every_us}"]
    heard = player.play(["home", *polls, "state"])
    assert heard.states == [State.BUSY]
    edges = [edge for edge in heard.edges if edge[0] <= end_us]
    replay = replay_edges(machine, edges, stock=False, tolerance_us=2 * every_us)
    assert not [fault for fault in replay.faults if fault.at_us < end_us - cadence_us]
    assert sum(replay.pulses.values()) > 100


@pytest.mark.quick(1)
@pytest.mark.parametrize("example", sorted(EXAMPLES))
def test_the_cadence_is_kept_by_coarse_polls(example: str, tmp_path: Path) -> None:
    machine = machine_of(example, tmp_path)
    tables = tables_of(machine, TablesFor.PROGRAMME)
    player = player_for(tmp_path / "c", machine, tables)
    begin_us = tables.home.length_us + 1_000_000
    cadence_us = tables.tables[-1].length_us
    rounds = 3 * len(tables.tables)
    end_us = begin_us + 2_000_000 + rounds * cadence_us
    heard = player.play(["home", f"until {begin_us} 1000", "run", f"until {end_us} 1000"])
    (swap,) = [actuator for actuator in machine.actuators if actuator.part == machine.gates[-1]]
    throws = thrown_at(heard.edges, 1 << swap.outputs[0], machine.idle_word)
    ticks = [at for at in throws if at > begin_us][1:]
    gaps = [later - at for at, later in itertools.pairwise(ticks)]
    assert len(gaps) > 2 * len(tables.tables)
    assert all(abs(gap - cadence_us) <= 30_000 for gap in gaps)
    drift = ticks[-1] - ticks[0] - len(gaps) * cadence_us
    assert abs(drift) <= 30_000, "lateness does not add up from tick to tick"


def test_a_change_comes_on_time_though_the_clock_wraps_twice_before_it(tmp_path: Path) -> None:
    # A clock of 32 bits in microseconds wraps every 71.58 minutes.
    path = machine_file("berth_board", tmp_path)
    path.write_text(path.read_text("utf-8").replace("every 1 s", "every 3 h"), "utf-8")
    machine = seqc.read(path, Findings())
    tables = tables_of(machine, TablesFor.PROGRAMME)
    player = player_for(tmp_path / "c", machine, tables)
    heard = player.play(["home", "play 0 9999", "run", "play 0 400"])
    assert tables.tables[-1].length_us == 3 * 3_600_000_000
    expected: list[tuple[int, int]] = []
    start_us = heard.edges[1][0] + tables.home.length_us
    for table in list(tables)[1:11]:
        expected += edges_of(table, start_us)
        start_us += table.length_us
    played = list(heard.edges[1 + len(tables.home.steps) :][: len(expected)])
    assert played == [(at_us % 2**32, word) for at_us, word in expected]


def thrown_at(edges: tuple[tuple[int, int], ...], output: int, idle_word: int) -> list[int]:
    """When an output becomes active."""
    found = []
    before = 0
    for at, word in edges:
        active = (word ^ idle_word) & output
        if active and not before:
            found.append(at)
        before = active
    return found
