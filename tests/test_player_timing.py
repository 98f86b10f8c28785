"""Late polls, stops, faults and the wrapping clock: what the player promises about time."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from firmware.handmade import SLACK_US, frame, machine_of, table, table_set
from firmware.host import HostPlayer, State, changes, compiled, edges_of, needs, player_for, target
from firmware.scripts import damaged

from seqc.codegen import render
from seqc.codegen.checks import rest_us
from seqc.machine.findings import InputError
from seqc.machine.steptable import Step, StepTable, TableSet, TablesFor

pytestmark = needs("gcc")

MACHINE = machine_of(8, low=True)
IDLE = MACHINE.idle_word
REST_US = rest_us(MACHINE)
CADENCE_US = 1_000_000
SPARE_US = 300_000


def ticks(count: int = 3) -> tuple[StepTable, ...]:
    """Tables of a programme: two pulses each, then a wait for the cadence."""
    made = [table(MACHINE, f"tick {n}", [0, 3], shows=frame(str(n))) for n in range(count)]
    return tuple(replace(one, length_us=CADENCE_US) for one in made)


def programme(repeat_from: int | None = 1, clear: bool = False) -> TableSet:
    return replace(
        table_set(MACHINE, TablesFor.PROGRAMME),
        home=table(MACHINE, "home", [1, 5]),
        tables=ticks(),
        repeat_from=repeat_from,
        spare_us=SPARE_US,
        clear=table(MACHINE, "clear", [7]) if clear else None,
    )


def glyphs(clear: bool = False) -> TableSet:
    return replace(
        table_set(MACHINE),
        home=table(MACHINE, "home", [1]),
        tables=tuple(table(MACHINE, f"show {n}", [n], shows=frame(str(n))) for n in range(3)),
        clear=table(MACHINE, "clear", [7]) if clear else None,
    )


@pytest.fixture(scope="module")
def shower(tmp_path_factory: pytest.TempPathFactory) -> HostPlayer:
    return player_for(tmp_path_factory.mktemp("glyphs"), MACHINE, glyphs())


@pytest.fixture(scope="module")
def runner(tmp_path_factory: pytest.TempPathFactory) -> HostPlayer:
    return player_for(tmp_path_factory.mktemp("programme"), MACHINE, programme())


def holds(edges: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """How long each word was on the outputs."""
    return [(later[0] - edge[0], edge[1]) for edge, later in itertools.pairwise(edges)]


def test_nothing_is_active_before_home_and_home_comes_first(shower: HostPlayer) -> None:
    heard = shower.play(
        ["state", "show 0", "poll 5", "at 9", "home", "show 1", "play 0 99", "state"]
    )
    assert heard.edges[0] == (9, IDLE)
    assert list(heard.edges[1:]) == edges_of(glyphs().home, 9 + REST_US)
    assert heard.answer("done") == [[0], [0]]
    assert heard.states == [State.OFF, State.READY]


def test_the_clock_may_wrap_at_any_step(shower: HostPlayer) -> None:
    tables = glyphs()
    for begin in range(2**32 - 130_000, 2**32, 10_000):
        heard = shower.play([f"at {begin}", "home", "play 0 99", "show 2", "play 0 99"])
        run = [
            *edges_of(tables.home, begin + REST_US),
            *edges_of(tables.tables[2], begin + REST_US + tables.home.length_us),
        ]
        assert list(heard.edges[1:]) == [(at % 2**32, word) for at, word in run]


@pytest.mark.parametrize("every_us", [1, 100, 1_000, 1_700, 9_999])
def test_late_polls_shorten_nothing(shower: HostPlayer, every_us: int) -> None:
    heard = shower.play(
        ["home", f"until 300000 {every_us}", "state", "show 0", f"until 600000 {every_us}", "state"]
    )
    tables = glyphs()
    planned = [word for table in (tables.home, tables.tables[0]) for word in table.steps]
    assert [word for _, word in heard.edges[1:]] == [step.word for step in planned]
    assert heard.states == [State.READY, State.READY]
    for (held, word), (wanted, _) in zip(
        holds(heard.edges[4:]), holds(edges_of(tables.tables[0]))[:-1], strict=False
    ):
        assert wanted <= held <= wanted + (SLACK_US if word != IDLE else 2 * every_us)


def test_a_pulse_held_too_long_is_cut_at_the_next_poll_and_home_is_needed(
    shower: HostPlayer,
) -> None:
    begin = REST_US + glyphs().home.length_us + 5_000
    start = ["home", "play 0 99", "show 0", f"poll {begin - 5_000}", f"poll {begin}"]
    allowed = shower.play([*start, f"poll {begin + 40_000 + SLACK_US}", "state"])
    assert allowed.edges[-1] == (begin + 40_000 + SLACK_US, IDLE)
    assert allowed.states == [State.BUSY]
    cut = shower.play(
        [
            *start,
            f"poll {begin + 40_001 + SLACK_US}",
            "state",
            "show 1",
            "play 0 9",
            "home",
            "play 0 99",
            "state",
        ]
    )
    assert cut.edges[6] == (begin + 40_001 + SLACK_US, IDLE)
    assert cut.answer("done") == [[1], [0]]
    assert cut.states == [State.FAULT, State.READY]


@pytest.mark.parametrize("stall_us", [10**6, 2**31 - 1, 2**31 + 1, 2**32 - 200_000])
def test_a_long_stall_with_an_output_active_is_a_fault(shower: HostPlayer, stall_us: int) -> None:
    begin = REST_US + glyphs().home.length_us + 5_000
    heard = shower.play(
        [
            "home",
            "play 0 99",
            "show 0",
            f"poll {begin - 5_000}",
            f"poll {begin}",
            f"poll {(begin + stall_us) % 2**32}",
            "state",
        ]
    )
    assert heard.states in ([State.FAULT], [State.HOMING]), "home may have been tried again since"
    assert heard.edges[-1][1] == IDLE


def test_lateness_adds_up_only_while_an_output_is_active(tmp_path: Path) -> None:
    steps = (Step(0, IDLE ^ 1), Step(10_000, IDLE ^ 5), Step(20_000, IDLE ^ 4), Step(30_000, IDLE))
    made = StepTable("overlap", steps, 40_000, frame("0"))
    tables = replace(glyphs(), tables=(made,), slack_us=2_500)
    player = player_for(tmp_path, MACHINE, tables)
    heard = player.play(["home", "play 0 99", "show 0", "play 1000 99", "state"])
    assert heard.states == [State.FAULT]
    assert len(heard.edges) == 1 + len(tables.home.steps) + 4
    heard = player.play(["home", "play 0 99", "show 0", "play 800 99", "state"])
    assert heard.states == [State.READY]


def test_stop_makes_the_outputs_inactive_at_once(shower: HostPlayer) -> None:
    begin = REST_US + glyphs().home.length_us
    heard = shower.play(
        [
            "home",
            "play 0 99",
            "show 0",
            f"poll {begin}",
            f"poll {begin + 5000}",
            f"at {begin + 6000}",
            "stop",
            "state",
            "play 0 9",
            "show 1",
            "home",
            "play 0 99",
            "show 1",
            "play 0 99",
            "seen",
        ]
    )
    assert heard.edges[5:7] == ((begin + 5_000, IDLE ^ 1), (begin + 6_000, IDLE))
    assert heard.states == [State.STOPPED]
    assert heard.answer("done") == [[1], [0], [1]]
    assert heard.answer("seen") == [[1]]


def test_a_frame_is_not_taken_while_another_runs_or_where_there_is_none(shower: HostPlayer) -> None:
    heard = shower.play(
        [
            "home",
            "play 0 99",
            "show 0",
            "seen",
            "show 1",
            "play 0 99",
            "show 3",
            "show 65535",
            "seen",
        ]
    )
    assert heard.answer("done") == [[1], [0], [0], [0]]
    assert heard.answer("seen") == [[65535], [0]]


def test_a_programme_keeps_its_cadence_under_late_polls(runner: HostPlayer) -> None:
    tables = programme()
    heard = runner.play(["home", "until 300000 700", "run", "until 8000000 700", "state"])
    lit = [at for at, word in changes(list(heard.edges)) if word == IDLE ^ 1]
    start = lit[1]
    assert len(lit) == 8
    for rank, at in enumerate(lit[1:]):
        assert abs(at - start - rank * CADENCE_US) <= 2 * 700
    pulses = [held for held, word in holds(list(heard.edges)) if word != IDLE]
    assert min(pulses) >= 40_000
    assert tables.spare_us > 0


def test_lateness_of_the_first_load_is_not_made_up(runner: HostPlayer) -> None:
    # Its items fall until the table ends, so the first tick may not open a gate any sooner.
    load = programme().tables[0]
    begin = REST_US + programme().home.length_us
    late = ["home", "play 0 99", "run", f"poll {begin}", f"poll {begin + 55_000}", "play 0 9"]
    edges = changes([edge for edge in runner.play(late).edges if edge[0] >= begin])
    planned = changes(edges_of(load))
    assert edges[1][0] == begin + 55_000, "50 ms late"
    rests_us = load.length_us - planned[-1][0] + 5_000
    assert edges[len(planned)][0] - edges[len(planned) - 1][0] >= rests_us


def test_a_programme_without_spare_time_shifts_instead_of_hurrying(tmp_path: Path) -> None:
    tables = replace(programme(), spare_us=0)
    player = player_for(tmp_path, MACHINE, tables)
    heard = player.play(["home", "play 0 99", "run", "play 300 30"])
    wanted = [
        held for table in tables.tables for held, _ in holds([*edges_of(table), (CADENCE_US, 0)])
    ]
    held = [held for held, _ in holds(list(heard.edges[6:]))]
    assert all(seen >= least for seen, least in zip(held, wanted, strict=False))


def test_a_programme_repeats_from_its_table(runner: HostPlayer) -> None:
    tables = programme()
    steps = len(tables.tables[0].steps)
    heard = runner.play(["home", "play 0 99", "run", f"play 0 {6 * steps}"])
    order = [*tables.tables, *tables.tables[1:], tables.tables[1]]
    expected = []
    for rank, one in enumerate(order):
        expected += edges_of(one, REST_US + tables.home.length_us + rank * CADENCE_US)
    assert list(heard.edges[1 + len(tables.home.steps) :]) == expected


def test_a_programme_that_does_not_repeat_ends_ready(tmp_path: Path) -> None:
    player = player_for(tmp_path, MACHINE, programme(repeat_from=None))
    heard = player.play(["home", "play 0 99", "run", "play 0 99", "state"])
    assert heard.states == [State.READY]
    assert len(heard.edges) == 1 + sum(len(table.steps) for table in programme())


def test_a_pause_waits_between_two_frames(runner: HostPlayer) -> None:
    tables = programme()
    begin = REST_US + tables.home.length_us
    heard = runner.play(
        [
            "home",
            "play 0 99",
            "run",
            f"poll {begin}",
            "pause",
            "play 0 99",
            "state",
            "at 9000000",
            "resume",
            "play 0 5",
            "state",
        ]
    )
    after_home = list(heard.edges[1 + len(tables.home.steps) :])
    assert after_home == [
        *edges_of(tables.tables[0], begin),
        *edges_of(tables.tables[1], 9_000_000),
    ]
    assert heard.states == [State.PAUSED, State.BUSY]


def test_advance_goes_on_for_one_frame(runner: HostPlayer) -> None:
    tables = programme()
    begin = REST_US + tables.home.length_us
    script = ["home", "play 0 99", "run", f"poll {begin}", "pause", "play 0 99"]
    for at in (9_000_000, 12_000_000):
        script += [f"at {at}", "hear advance", "play 0 99", "state"]
    heard = runner.play(script)
    assert list(heard.edges[1 + len(tables.home.steps) :]) == [
        *edges_of(tables.tables[0], begin),
        *edges_of(tables.tables[1], 9_000_000),
        *edges_of(tables.tables[2], 12_000_000),
    ]
    assert heard.states == [State.PAUSED, State.PAUSED]


def test_what_was_left_waiting_is_cleared_before_the_first_frame_only(tmp_path: Path) -> None:
    tables = glyphs(clear=True)
    assert tables.clear
    player = player_for(tmp_path, MACHINE, tables)
    heard = player.play(
        ["home", "play 0 99", "show 0", "play 0 99", "show 1", "play 0 99", "state"]
    )
    expected = []
    start = REST_US
    for one in (tables.home, tables.clear, tables.tables[0], tables.tables[1]):
        expected += edges_of(one, start)
        start += one.length_us
    assert list(heard.edges[1:]) == expected
    assert heard.states == [State.READY]


def test_a_programme_begins_with_the_clear_table(tmp_path: Path) -> None:
    tables = programme(clear=True)
    assert tables.clear
    player = player_for(tmp_path, MACHINE, tables)
    heard = player.play(["home", "play 0 99", "run", "play 0 12"])
    expected = [
        *edges_of(tables.home, REST_US),
        *edges_of(tables.clear, REST_US + tables.home.length_us),
    ]
    start = REST_US + tables.home.length_us + tables.clear.length_us
    for rank in range(2):
        expected += edges_of(tables.tables[rank], start + rank * CADENCE_US)
    assert list(heard.edges[1:]) == expected[: len(heard.edges) - 1]
    assert len(heard.edges) > len(tables.home.steps) + len(tables.clear.steps) + 5


def chain() -> TableSet:
    """Tables for the steps 0 to 1 and 1 to 2, and one that shows 0 after anything."""
    tables = [
        table(MACHINE, "any>0", [0], shows=frame("0")),
        table(MACHINE, "0>1", [2], shows=frame("1"), after=frame("0")),
        table(MACHINE, "1>2", [4], shows=frame("2"), after=frame("1")),
        table(MACHINE, "1>0", [6], shows=frame("0"), after=frame("1")),
    ]
    return replace(table_set(MACHINE, TablesFor.TRANSITION), tables=tuple(tables))


def test_a_transition_is_chosen_by_what_is_seen(tmp_path: Path) -> None:
    player = player_for(tmp_path, MACHINE, chain())
    script = ["home", "play 0 99"]
    for wanted in (1, 0, 2, 1, 0, 1, 2, 1, 0):
        script += [f"show {wanted}", "play 0 99"]
    heard = player.play(script)
    assert heard.answer("done") == [[0], [1], [0], [1], [1], [1], [1], [0], [1]]
    home = 1 + len(chain().home.steps)
    active = [(word ^ IDLE).bit_length() - 1 for _, word in heard.edges[home:] if word != IDLE]
    assert active == [0, 2, 6, 2, 4, 0], "of two tables for one frame the one made for it is taken"


@pytest.mark.quick(2)
@pytest.mark.parametrize("at", [0, 9, 46, 60, -4, -1, -2])
def test_damaged_tables_leave_every_output_inactive(tmp_path: Path, at: int) -> None:
    files = render(target("c99"), MACHINE, glyphs())
    files["seqc_tables.c"] = damaged(files["seqc_tables.c"], at, bit=3)
    player = compiled(tmp_path, files)
    heard = player.play(
        ["home", "play 0 99", "show 0", "play 0 99", "state", "home", "play 0 99", "state"]
    )
    assert {word for _, word in heard.edges} == {IDLE}
    assert heard.states == [State.FAULT, State.FAULT]


def test_a_table_with_both_polarities_of_a_coil_is_refused() -> None:
    both = StepTable("both", (Step(0, IDLE ^ 3), Step(10, IDLE)), 20, frame("0"))
    with pytest.raises(InputError, match="outputs 0 and 1 active together"):
        render(target("c99"), MACHINE, replace(glyphs(), tables=(both,)))


def test_a_forbidden_word_never_reaches_the_outputs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps = (Step(0, IDLE ^ 1), Step(10_000, IDLE ^ 3), Step(20_000, IDLE))
    both = StepTable("both", steps, 40_000, frame("0"))
    monkeypatch.setattr("seqc.codegen.rendering.check", lambda *_: None)
    player = player_for(tmp_path, MACHINE, replace(glyphs(), tables=(both,)))
    heard = player.play(["home", "play 0 99", "show 0", "play 0 99", "state"])
    begin = REST_US + glyphs().home.length_us
    assert heard.edges[-2:] == ((begin, IDLE ^ 1), (begin, IDLE)), "seen before its time comes"
    assert heard.states == [State.FAULT]


def test_a_pulse_that_spans_two_tables_is_neither_cut_nor_paused_in(tmp_path: Path) -> None:
    first = StepTable("a", (Step(0, IDLE), Step(90_000, IDLE ^ 1)), 100_000, frame("0"))
    second = StepTable("b", (Step(0, IDLE ^ 1), Step(30_000, IDLE)), 100_000, frame("1"))
    tables = replace(programme(), tables=(first, second), repeat_from=0, spare_us=50_000)
    player = player_for(tmp_path, MACHINE, tables)
    begin = REST_US + tables.home.length_us
    script = ["home", "play 0 99", "run", f"poll {begin + 15_000}", "pause", "play 0 99", "state"]
    heard = player.play(script)
    late = begin + 15_000
    assert list(heard.edges[-4:]) == [
        (late, IDLE),
        (late + 90_000, IDLE ^ 1),
        (late + 100_000, IDLE ^ 1),
        (late + 130_000, IDLE),
    ]
    assert heard.states == [State.PAUSED]
    with pytest.raises(ValueError, match="ends with an output active"):
        player_for(tmp_path, MACHINE, replace(tables, tables=(second, first), repeat_from=None))
