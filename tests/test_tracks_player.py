"""The portable player on tracks: each tick to the microsecond, and a time that outlives it all."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from firmware.handmade import SLACK_US, machine_of
from firmware.host import Edge, HostPlayer, State, changes, edges_of, needs, player_for
from firmware.tracked import small_tracks

from seqc.codegen.checks import rest_us
from seqc.machine.tracks import Quiet, TrackSet

pytestmark = needs("gcc")

MACHINE = machine_of(14, low=True, longest_us=60_000)
IDLE = MACHINE.idle_word
SECOND_US = 1_000_000
FREE = small_tracks(MACHINE)
CLOCK = replace(FREE, is_clock=True)
CASES = {
    "quiet round the end": FREE,
    "never quiet": replace(FREE, quiet=None),
    "quiet in between": replace(FREE, quiet=Quiet(12, 70)),
    "always quiet": replace(FREE, quiet=Quiet(0, 90)),
    "a clock": CLOCK,
    "one track": replace(FREE, tracks=FREE.tracks[1:2]),
}
STRICT = ("-g", "-Wshadow", "-fsanitize=address,undefined", "-fno-sanitize-recover=all")
HOME_END_US = rest_us(MACHINE) + FREE.home_length_us
READY = ("home", "play 0 297")


@pytest.fixture(scope="module")
def clock(tmp_path_factory: pytest.TempPathFactory) -> HostPlayer:
    return player_for(tmp_path_factory.mktemp("clock"), MACHINE, CLOCK, *STRICT)


@pytest.fixture(scope="module")
def free(tmp_path_factory: pytest.TempPathFactory) -> HostPlayer:
    return player_for(tmp_path_factory.mktemp("free"), MACHINE, FREE, *STRICT)


def homed(tracks: TrackSet, begin_us: int = 0) -> list[Edge]:
    """The rest and home, from the call on."""
    return [(begin_us, IDLE), *edges_of(tracks.home, begin_us + rest_us(MACHINE))]


def played(tracks: TrackSet, load_us: int, tick: int, due_us: int) -> Iterator[Edge]:
    """The first load and the ticks from one on, whose time of beginning is given."""
    yield from edges_of(tracks.first(tick), load_us)
    first = True
    while True:
        yield from edges_of(tracks.tick(tick, first), due_us)
        first = False
        tick += 1
        due_us += tracks.tick_us


def assert_played(found: list[Edge], wanted: Iterator[Edge], least: int = 1) -> None:
    """What was found is how the wanted edges begin, and enough of them."""
    expected = [next(wanted) for _ in range(2 * len(found) + 20)]
    rows = changes(found), changes([(found[0][0] - 1, IDLE), *expected])[1:]
    rows = rows[0][rows[0][0][1] == IDLE :], rows[1]
    assert rows[0] == rows[1][: len(rows[0])]
    assert len(rows[0]) >= least


def after(edges: tuple[Edge, ...], at_us: int) -> list[Edge]:
    return [edge for edge in edges if edge[0] >= at_us]


@pytest.mark.quick(3)
@pytest.mark.parametrize("case", CASES)
def test_every_tick_of_a_round_is_the_merged_one(case: str, tmp_path: Path) -> None:
    tracks = CASES[case]
    player = player_for(tmp_path, MACHINE, tracks, *STRICT)
    heard = player.play([*READY, "run", "play 0 10500", "state", "time"])
    assert heard.states == [State.BUSY]
    home = homed(tracks)
    assert list(heard.edges[: len(home)]) == home[: len(home)]
    tick, due_us = (2, 2 * SECOND_US) if tracks.is_clock else (0, HOME_END_US + 700_000)
    found = list(heard.edges[len(home) :])
    assert_played(found, played(tracks, HOME_END_US, tick, due_us), 1_000)
    shown = (found[-1][0] - due_us) // SECOND_US
    assert shown > 2 * tracks.ticks
    assert heard.answer("time") == [[(tick + shown) % tracks.ticks]]


def test_the_clock_may_wrap_in_any_tick(free: HostPlayer) -> None:
    for begin_us in range(2**32 - 9_000_000, 2**32, 1_111_111):
        heard = free.play([f"at {begin_us}", *READY, "run", "play 0 600"])
        found = [((at - begin_us) % 2**32, word) for at, word in heard.edges]
        wanted = played(FREE, HOME_END_US, 0, HOME_END_US + 700_000)
        assert_played(after(tuple(found), HOME_END_US), wanted, 50)


@pytest.mark.parametrize("late_us", [1, 300, 900, 2_000])
def test_lateness_is_made_up_by_the_next_tick(clock: HostPlayer, late_us: int) -> None:
    heard = clock.play([*READY, "run", f"play {late_us} 1800", "state"])
    assert heard.states == [State.BUSY]
    wanted = played(CLOCK, HOME_END_US, 2, 2 * SECOND_US)
    expected = changes([next(wanted) for _ in range(1_000)])
    found = changes(after(heard.edges, HOME_END_US))
    assert [word for _, word in found] == [word for _, word in expected[: len(found)]]
    behind = [at - due for (at, _), (due, _) in zip(found, expected, strict=False)]
    assert min(behind) >= 0
    assert max(behind) <= 30 * late_us, "it doesn't grow from tick to tick"
    assert len(behind) > 300


def test_the_time_is_set_while_it_plays(clock: HostPlayer) -> None:
    for at_us in (2_100_000, 3_000_000, 3_345_678, 3_999_999):
        script = [*READY, "run", f"until {at_us} 500", "set 67", "time", "play 0 2400", "state"]
        heard = clock.play(script)
        start_us = HOME_END_US - (HOME_END_US - at_us) // 500 * 500
        home = homed(CLOCK, start_us)
        found = after(heard.edges, start_us)
        while found[1][0] == start_us:
            del found[0]
        assert found[: len(home)] == home
        load_us = start_us + HOME_END_US
        tick = 67 + -(-(HOME_END_US + CLOCK.first_length_us) // SECOND_US)
        due_us = start_us + (tick - 67) * SECOND_US
        assert_played(found[len(home) :], played(CLOCK, load_us, tick, due_us), 200)
        assert heard.answer("time") == [[67]]
        assert heard.states == [State.BUSY]


@pytest.mark.parametrize("when", ["before home", "stopped", "ready"])
def test_the_time_may_be_set_before_anything_is_shown(clock: HostPlayer, when: str) -> None:
    script = {
        "before home": ["at 5", "set 50", "home", "time", "play 0 297", "state"],
        "stopped": ["home", "play 0 12", "stop", "set 50", "time", "home", "play 0 297", "state"],
        "ready": [*READY, "set 140", "time", "play 0 297", "state"],
    }[when]
    heard = clock.play([*script, "run", "play 0 180", "state"])
    assert heard.answer("time") == [[0 if when == "before home" else 50]], "none before home"
    assert heard.states == [State.READY, State.BUSY]


def test_ticks_that_are_missed_are_left_out(clock: HostPlayer) -> None:
    script = [*READY, "run", "play 0 180", "poll 30000000", "play 0 600", "state", "time"]
    heard = clock.play(script)
    assert heard.states == [State.BUSY]
    home_us = next(at for at, _ in heard.edges if at >= 30_000_000)
    load_us = next(at for at, word in heard.edges if at > home_us + 390_000)
    tick = -(-(load_us + CLOCK.first_length_us) // SECOND_US)
    found = after(heard.edges, load_us)
    assert_played(found, played(CLOCK, load_us, tick, tick * SECOND_US), 50)


def test_after_a_fault_it_is_right_again(clock: HostPlayer) -> None:
    for fail_us in (2_500_000, 3_017_000, 5_900_000):
        script = [*READY, "run", f"until {fail_us} 250", "fail 7", "state"]
        heard = clock.play([*script, f"until {fail_us + 12_000_000} 250", "state", "time"])
        assert heard.states == [State.FAULT, State.BUSY]
        home_us = after(heard.edges, fail_us + 250)[0][0]
        assert home_us < fail_us + 1_100_000
        load_us = next(at for at, _ in heard.edges if at > home_us + HOME_END_US - 5_000)
        tick = -(-(load_us + CLOCK.first_length_us) // SECOND_US)
        wanted = played(CLOCK, load_us, tick, tick * SECOND_US)
        expected = changes([next(wanted) for _ in range(400)])
        found = changes(after(heard.edges, load_us))
        assert [word for _, word in found] == [word for _, word in expected[: len(found)]]
        late = [at - due for (at, _), (due, _) in zip(found, expected, strict=False)]
        assert 0 <= min(late) <= max(late) <= 250 * 30
        assert heard.answer("time") == [[(fail_us + 12_000_000) // SECOND_US]]


def test_a_pause_of_a_clock_ends_at_the_right_time(clock: HostPlayer) -> None:
    script = [*READY, "run", "play 0 300", "pause", "play 0 297", "state"]
    heard = clock.play([*script, "until 20000000 1000", "time", "resume", "play 0 600", "state"])
    assert heard.states == [State.PAUSED, State.BUSY]
    assert heard.answer("time") == [[20]]
    tick = 20 + -(-(HOME_END_US + CLOCK.first_length_us) // SECOND_US)
    start_us = 20_000_000
    load_us = start_us + HOME_END_US
    assert_played(after(heard.edges, load_us), played(CLOCK, load_us, tick, tick * SECOND_US), 50)


def test_a_pause_of_a_programme_goes_on_where_it_was(free: HostPlayer) -> None:
    script = [*READY, "run", "play 0 300", "pause", "play 0 297", "state", "time"]
    heard = free.play([*script, "at 90000000", "resume", "play 0 600", "state", "time"])
    assert heard.states == [State.PAUSED, State.BUSY]
    (before,), (later,) = heard.answer("time")
    tick = before
    found = after(heard.edges, 90_000_000)
    edges: list[Edge] = []
    for n in range(tick, tick + 6):
        edges += edges_of(FREE.tick(n), 90_000_000 + (n - tick) * SECOND_US)
    wanted = changes([(0, IDLE), *edges])[1:]
    rows = [edge for edge in changes(found) if edge[1] != IDLE or edge[0] > 90_000_000]
    assert rows[: len(wanted)] == [edge for edge in wanted if edge[0] > 90_000_000]
    assert later > tick


def test_advance_shows_one_more_tick(free: HostPlayer) -> None:
    script = [*READY, "run", "pause", "play 0 297", "state", "hear advance", "play 0 297", "state"]
    heard = free.play(script)
    assert heard.states == [State.PAUSED, State.PAUSED]
    start_us = HOME_END_US + FREE.first_length_us
    edges = [*edges_of(FREE.first(0), HOME_END_US), *edges_of(FREE.tick(0, True), start_us)]
    edges += edges_of(FREE.tick(1), start_us + SECOND_US)
    home = len(homed(FREE))
    assert changes(list(heard.edges[home:])) == changes(edges)


@pytest.mark.parametrize("ppm", [-2_000, -12, 1, 137, 2_000])
def test_a_trim_stretches_each_tick(clock: HostPlayer, ppm: int) -> None:
    trim = f"trim {ppm} 0" if ppm > 0 else f"trim 0 {-ppm}"
    heard = clock.play([*READY, trim, "run", "play 0 9000", "state", "time"])
    assert heard.states == [State.BUSY]
    assert heard.answer("done")[0] == [1]
    word = IDLE ^ 1 << 2
    pulses = [at for at, seen in heard.edges if seen == word]
    length_us = SECOND_US + ppm
    began_us = SECOND_US + length_us
    wanted: list[int] = []
    for n in range(2, 150):
        due_us = began_us + (n - 2) * length_us
        merged = changes([(-1, IDLE), *edges_of(CLOCK.tick(n, n == 2))])
        wanted += [due_us + at for at, seen in merged if seen == word]
    found = [at for at in pulses if at >= began_us]
    assert found[: len(wanted)] == wanted
    assert len(wanted) > 100


def test_a_trim_has_its_fraction_carried_on(tmp_path: Path) -> None:
    tracks = replace(CLOCK, tick_us=500_000, first_length_us=499_999, kinds=CLOCK.kinds[:1])
    tracks = replace(tracks, tracks=(replace(tracks.tracks[1], load_us=250_000),))
    player = player_for(tmp_path, MACHINE, tracks, *STRICT)
    heard = player.play([*READY, "trim 3 0", "run", "play 0 12000", "state"])
    assert heard.states == [State.BUSY]
    opened = [at for at, seen in heard.edges if seen == IDLE ^ 1 << 8]
    gaps = [later - before for before, later in pairwise(opened[1:])]
    assert set(gaps) == {500_001, 500_002}
    assert abs(sum(gaps) - 500_001.5 * len(gaps)) <= 1
    assert len(gaps) > 100


def test_too_large_a_trim_is_refused(clock: HostPlayer) -> None:
    assert clock.play(["home", "trim 2001 0", "trim 0 2001"]).answer("done") == [[0], [0]]


def test_a_pulse_held_too_long_is_a_fault(clock: HostPlayer) -> None:
    lit = next(step for step in CLOCK.tick(2, True).steps if step.word != IDLE)
    at_us = 2 * SECOND_US + lit.at_us
    start = [*READY, "run", "until 1990000 1000", "poll 2000000", f"poll {at_us}"]
    end = next(step.at_us for step in CLOCK.tick(2, True).steps if step.at_us > lit.at_us)
    late = 2 * SECOND_US + end + SLACK_US
    assert clock.play([*start, f"poll {late}", "state"]).states == [State.BUSY]
    assert clock.play([*start, f"poll {late + 1}", "state"]).states == [State.FAULT]


@pytest.mark.quick(2)
@pytest.mark.parametrize("seed", range(12))
def test_whatever_is_asked_when_no_word_is_forbidden_and_it_can_go_on(
    clock: HostPlayer, seed: int
) -> None:
    chance = random.Random(seed)
    asked = ["pause", "resume", "run", "home", "stop", "hear advance", "fail 7", "set 30", "set 89"]
    script = ["home"]
    now_us = 0
    for _ in range(60):
        now_us += chance.randrange(1, 3_000_000)
        script += [f"until {now_us} 900", chance.choice(asked)]
    heard = clock.play([*script, "home", "play 0 297", "run", "play 0 900", "state"])
    assert heard.states == [State.BUSY]
    active = {word ^ IDLE for _, word in heard.edges}
    assert not any(word & word >> 1 & 0b01010101010101 for word in active)


def answers(player: HostPlayer, *lines: str) -> list[str]:
    """What the line answers once home is reached, without the checksum of the tables."""
    said = player.play([*READY, *(f"hear {line}" for line in lines)]).said
    return [re.sub(r" [0-9A-F]{4}( |$)", r"\1", line) for line in said]


def test_the_line_tells_and_sets_the_time_of_a_clock(clock: HostPlayer) -> None:
    lines = ["time", "time 00:01:05", "time", "trim -12", "trim 2000", "status all"]
    assert answers(clock, *lines) == [
        "time ready - 00:00:00",
        "time homing - 00:01:05",
        "time homing - 00:01:05",
        "trim homing -",
        "trim homing -",
        "status homing - 0 15 unknown 0 none",
    ]
    numbered = answers(clock, "7:time 00:00:30;D7", "7:time 00:00:30;D8")
    assert numbered[0].startswith("7:time homing - 00:00:30;")
    assert numbered[1].startswith("7:garbled homing -")


def test_the_line_tells_and_sets_the_ticks_of_a_programme(free: HostPlayer) -> None:
    assert answers(free, "time", "time 89", "time") == [
        "time ready - 0",
        "time homing - 89",
        "time homing - 89",
    ]


@pytest.mark.parametrize(
    "asked", ["time ", "time 90", "time -1", "time 0:01:05", "timex", "time x"]
)
def test_a_time_that_is_none_is_unknown(free: HostPlayer, asked: str) -> None:
    assert answers(free, asked) == ["unknown ready -"]


WRONG = ["00:01:5", "24:00:00", "00:60:00", "00:00:60", "00:01:05 ", "000105", "00-01-05", "", "0"]


@pytest.mark.parametrize("time", WRONG)
def test_a_time_of_day_that_is_none_is_unknown(clock: HostPlayer, time: str) -> None:
    assert answers(clock, f"time {time}") == ["unknown ready -"]


@pytest.mark.parametrize("trim", ["trim", "trim ", "trim -", "trim 2001", "trim -2001", "trim 1.5"])
def test_a_trim_that_is_none_is_unknown(clock: HostPlayer, trim: str) -> None:
    assert answers(clock, trim) == ["unknown ready -"]


@pytest.mark.parametrize(
    ("tick_us", "begin", "after_us", "end"),
    [
        (60_000_000, "00:01:58", 1_900_000, "00:01:00"),
        (60_000_000, "00:01:58", 2_100_000, "00:02:00"),
        (500_000, "00:00:14", 900_000, "00:00:14"),
        (500_000, "00:00:13", 1_100_000, "00:00:14"),
    ],
)
def test_a_tick_may_be_longer_or_shorter_than_a_second(
    tmp_path: Path, tick_us: int, begin: str, after_us: int, end: str
) -> None:
    tracks = replace(CLOCK, tick_us=tick_us, tracks=CLOCK.tracks[2:], quiet=None)
    player = player_for(tmp_path, MACHINE, tracks, *STRICT)
    script = [*READY, f"hear time {begin}", f"until {HOME_END_US + after_us} 5000", "hear time"]
    assert player.play(script).said[-1].endswith(end)
