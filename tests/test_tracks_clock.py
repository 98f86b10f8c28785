"""Clocks by tracks: the harbour clock, and one with a colon that blinks beside its numerals."""

from __future__ import annotations

import functools
import json
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner
from colon_clock import TEXT
from examples_on_disk import machine_file

import seqc
from seqc.cli.main import main
from seqc.machine.clock import DAY_S
from seqc.machine.findings import Findings
from seqc.machine.glyphs import Programme
from seqc.machine.model import Machine
from seqc.machine.steptable import StepTable, TablesFor
from seqc.machine.tracks import Quiet, TrackSet, merged
from seqc.simulator import Replay, check, check_bounds

CARRIES = tuple(
    hours * 3_600 + minutes * 60
    for hours, minutes in ((0, 1), (0, 10), (1, 0), (10, 0), (20, 0), (24, 0))
)
"""Moments, in seconds, at which ever more numerals change at once."""

AROUND = 2_000


@functools.cache
def harbour() -> tuple[Machine, Programme, TrackSet]:
    """The harbour clock as it is built."""
    with tempfile.TemporaryDirectory() as folder:
        machine = seqc.read(machine_file("harbour_clock", Path(folder)), Findings())
    return built(machine)


@functools.cache
def colon() -> tuple[Machine, Programme, TrackSet]:
    """The clock with a colon as it is built."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "quay.lanes")
        path.write_text(TEXT, "utf-8")
        return built(seqc.read(path, Findings()))


def built(machine: Machine) -> tuple[Machine, Programme, TrackSet]:
    programme = seqc.asked(machine)
    tables = seqc.built_tables(machine, programme, TablesFor.PROGRAMME)
    assert isinstance(tables, TrackSet)
    return machine, programme, tables


def around(tracks: TrackSet, tick: int, count: int) -> Iterator[StepTable]:
    """So many ticks around one, from power-on."""
    start = tick - count // 2
    yield tracks.home
    yield tracks.first(start)
    yield tracks.tick(start, first=True)
    yield from map(tracks.tick, range(start + 1, start + count))


def digits(table: StepTable) -> str:
    return "".join(glyph for _, glyph in table.shows)


def held(machine: Machine, tables: Iterator[StepTable], bounds: bool) -> Replay:
    """What the simulator finds, the clock going on for ever."""
    if bounds:
        return check_bounds(machine, tables, endless=True)
    return check(machine, tables, stock=False, endless=True)


@pytest.mark.thorough
def test_the_harbour_clock_shares_its_tables_and_fits_a_small_controller() -> None:
    _, programme, tracks = harbour()
    assert tracks.is_clock
    assert tracks.tick_us == programme.every_us == 1_000_000
    (kind,) = tracks.kinds
    assert {track.kind for track in tracks.tracks} == {0}
    moves = {(move.before, move.after) for move in kind.moves}
    assert {after for before, after in moves if before is None} == set("0123456789")
    changes = {f"{before}{after}" for before, after in moves if before is not None}
    assert changes == {"01", "12", "23", "34", "45", "56", "67", "78", "89", "90", "50", "30", "20"}
    assert tracks.ticks == DAY_S
    # Two outputs for each of its nine actuators, and none of them another numeral's.
    outputs = [output for track in tracks.tracks for output in track.outputs]
    assert len(outputs) == len(set(outputs)) == 6 * kind.width == 108


@pytest.mark.thorough
def test_every_table_ends_idle_and_every_tick_within_itself() -> None:
    for _, _, tracks in (harbour(), colon()):
        for track in tracks.tracks:
            kind = tracks.kinds[track.kind]
            assert track.home_us + kind.home.length_us <= tracks.home_length_us
            for move in kind.moves:
                assert move.load.steps[-1].word == move.change.steps[-1].word == 0
            for glyph in track.shows:
                ends_us = track.home_us + kind.move(None, glyph).load.length_us
                assert ends_us <= tracks.first_length_us
        for tick in range(0, tracks.ticks, 997):
            table = tracks.tick(tick)
            assert table.steps[-1].word == tracks.idle_word
            assert table.steps[-1].at_us < tracks.tick_us


@pytest.mark.thorough
def test_the_day_is_the_one_of_the_programme() -> None:
    _, programme, tracks = harbour()
    tables = merged(tracks).tables
    assert len(tables) == DAY_S + 2
    for second in (0, 59, 60, 35_999, 36_000, 86_399, 86_400):
        frame = programme.frames[second % DAY_S]
        assert digits(tables[second + 1]) == "".join(glyph.name for glyph in frame)


@pytest.mark.quick(1)
@pytest.mark.parametrize("made", [colon, harbour], ids=["colon", "harbour"])
def test_all_that_differs_keeps_every_rule_with_parts_that_vary(made: type) -> None:
    machine, programme, tracks = made()
    nominal = seqc.replay(machine, tracks, programme)
    assert not nominal.faults
    assert not nominal.unchecked
    assert not seqc.replay_bounds(machine, tracks, programme).faults


@pytest.mark.quick(1)
@pytest.mark.parametrize("moment", CARRIES[::-1])
def test_the_clock_is_right_around_each_carry(moment: int) -> None:
    machine, _, tracks = harbour()
    assert not held(machine, around(tracks, moment, AROUND), bounds=False).faults
    before, after = tracks.tick(moment - 1), tracks.tick(moment)
    hours, minutes = moment // 3_600, moment // 60 % 60
    assert digits(after) == f"{hours % 24:02}{minutes:02}00"
    assert digits(before).endswith("59")


@pytest.mark.quick(0, 1)
@pytest.mark.parametrize("bounds", [False, True], ids=["nominal", "bounds"])
def test_the_whole_day_is_right(bounds: bool) -> None:
    machine, _, tracks = harbour()
    every = merged(tracks)
    assert not held(machine, iter((every.home, *every.tables)), bounds).faults


@pytest.mark.quick(1)
@pytest.mark.parametrize("tick", [119, 120, 7_199, 172_799])
def test_the_colon_blinks_in_step_with_the_minutes(tick: int) -> None:
    machine, _, tracks = colon()
    assert not held(machine, around(tracks, tick, 40), bounds=True).faults
    shown = [digits(tracks.tick(at)) for at in range(tick, tick + 3)]
    assert [text[4] for text in shown] == [": "[at % 2] for at in range(tick, tick + 3)]
    minutes = [at // 120 % 1_440 for at in range(tick, tick + 3)]
    assert [text[:4] for text in shown] == [f"{m // 60:02}{m % 60:02}" for m in minutes]


def run(*arguments: str) -> tuple[int, str]:
    result = CliRunner().invoke(main, list(arguments))
    return result.exit_code, result.output


@pytest.mark.thorough
def test_check_tells_that_the_clock_can_be_built_and_how_close_changes_are(tmp_path: Path) -> None:
    status, told = run("check", str(machine_file("harbour_clock", tmp_path)), "--json")
    assert status == 0
    document = json.loads(told)
    assert document["findings"] == []
    (day,) = document["programmes"]
    _, _, tracks = harbour()
    starts = [track.change_us for track in tracks.tracks]
    assert day["changes_within_us"] == max(starts) - min(starts)
    assert day["cadence_kept"] is True
    assert day["lower_bound_period_us"] <= day["period_us"] <= 1_000_000


def test_a_weaker_supply_keeps_changes_of_one_tick_apart() -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = machine_file("harbour_clock", Path(folder))
        text = path.read_text("utf-8")
        assert text.count("limit 12 A") == 1
        # Two large coils at once and no more; a whole minute for them all.
        slow = text.replace("limit 12 A", "limit 6 A").replace("minutes seconds", "minutes")
        path.write_text(slow.replace("copies 6", "copies 4"), "utf-8")
        machine = seqc.read(path, Findings())
    machine, programme, tracks = built(machine)
    starts = sorted(track.change_us for track in tracks.tracks)
    assert starts[0] == 0 < starts[-1]
    assert not seqc.replay_bounds(machine, tracks, programme).faults


def test_grids_that_share_a_reverser_cant_move_by_themselves(tmp_path: Path) -> None:
    path = tmp_path / "quay.lanes"
    relay = "relay card { operate 8 ms  release 5 ms }\n"
    shared = TEXT.replace(
        "drive pick, drop, swap    { bridge  dead time 1 ms  from bus }",
        f"{relay}drive pick, drop, swap {{ shared reverser  relay card  from bus }}",
    )
    assert shared != TEXT
    path.write_text(shared, "utf-8")
    status, told = run("check", str(path))
    assert status == 1
    assert (
        "programme `wall` moves grids by themselves, and `numeral_1`, `numeral_2`, `numeral_3` "
        "and `numeral_4` share a shared reverser" in " ".join(told.split())
    )


def test_what_comes_round_too_late_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "quay.lanes"
    path.write_text(TEXT.replace('show ": "', 'show ": :: ::"'), "utf-8")
    status, told = run("check", str(path))
    assert status == 2
    assert "`wall` comes round only after" in told


@pytest.mark.thorough
def test_in_its_quiet_time_only_the_minutes_move(tmp_path: Path) -> None:
    path = tmp_path / "quay.lanes"
    loud = "clock day { hours minutes "
    assert TEXT.count(loud) == 1
    path.write_text(TEXT.replace(loud, f"{loud} quiet 22:00 to 07:00 "), "utf-8")
    machine, programme, tracks = built(seqc.read(path, Findings()))
    assert {track.grid for track in tracks.tracks if track.quiet} == {"colon"}
    a_minute = 120
    quiet, loud_again = 22 * 60 * a_minute, 7 * 60 * a_minute
    assert tracks.quiet == Quiet(quiet, loud_again)
    shown = merged(tracks).tables[1:]
    for tick in (quiet - 1, quiet, quiet + 1, quiet + a_minute + 1, loud_again - 1, loud_again + 1):
        minute = tick // a_minute
        rests = tick >= quiet or tick < loud_again
        colon = ":" if rests else ": "[tick % 2]
        assert digits(shown[tick]) == f"{minute // 60:02}{minute % 60:02}{colon}"
        frame = programme.frames[tick]
        assert digits(shown[tick]) == "".join(glyph.name for glyph in frame)
    still = shown[quiet + 5].steps
    assert [step.word for step in still] == [tracks.idle_word]
    assert not seqc.replay(machine, tracks, programme).faults
    assert not seqc.replay_bounds(machine, tracks, programme).faults
