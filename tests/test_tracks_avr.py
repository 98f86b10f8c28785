"""The harbour clock on an emulated ATmega328P: the right time each second, and a stop obeyed."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest
from examples_on_disk import machine_of
from firmware.emulated import TOOLS, Controller, Ran, build_emulator, controller, settled
from firmware.host import Edge, changes, edges_of, needs, target

from seqc import built_tables
from seqc.codegen import sizes
from seqc.codegen.rendering import build_of
from seqc.machine.model import Machine
from seqc.machine.steptable import TablesFor
from seqc.machine.tracks import TrackSet

pytestmark = [needs(*TOOLS), pytest.mark.counts]

AVR = target("avr")
WITHIN_US = 500
SECOND_US = 1_000_000
STACK_BYTES = 128
"""What calls and an interrupt take of the RAM besides, at most (from memory)."""
DAY = 86_400


@pytest.fixture(scope="module")
def machine(tmp_path_factory: pytest.TempPathFactory) -> Machine:
    return machine_of("harbour_clock", tmp_path_factory.mktemp("machine"))


@pytest.fixture(scope="module")
def tracks(machine: Machine) -> TrackSet:
    tables = built_tables(machine, machine.programmes[0], TablesFor.PROGRAMME)
    assert isinstance(tables, TrackSet)
    return tables


@pytest.fixture(scope="module")
def clock(
    machine: Machine, tracks: TrackSet, tmp_path_factory: pytest.TempPathFactory
) -> Controller:
    emulator = build_emulator(tmp_path_factory.mktemp("emulator"))
    folder = tmp_path_factory.mktemp("clock")
    return controller(emulator, folder, AVR, machine, tracks, wait=False)


def edges_from(ran: Ran, start_us: float, idle: int) -> list[tuple[float, int]]:
    """What changed from a moment on at which all was idle."""
    found = [edge for edge in settled(ran.edges) if edge[0] >= start_us]
    return found if found[0][1] != idle else found[1:]


def worst(found: list[tuple[float, int]], planned: list[Edge]) -> float:
    """The words are equal; by how much their times differ, beside one shift for all."""
    assert [word for _, word in found] == [word for _, word in planned]
    apart = [at - due for (at, _), (due, _) in zip(found, planned, strict=True)]
    return max(apart) - min(apart)


def assert_right_time(ran: Ran, tracks: TrackSet, start_us: float, tick: int) -> str:
    """From home on every tick is the merged one: those that follow the time that was set."""
    idle = tracks.idle_word
    found = edges_from(ran, start_us, idle)
    home = changes([(-1, idle), *edges_of(tracks.home)])[1:]
    assert worst(found[: len(home)], home) <= WITHIN_US
    found = found[len(home) :]
    ahead = next(
        ahead
        for ahead in range(1, 9)
        for load in [changes([(-1, idle), *edges_of(tracks.first(tick + ahead))])[1:]]
        if [word for _, word in found[: len(load)]] == [word for _, word in load]
    )
    load = changes([(-1, idle), *edges_of(tracks.first(tick + ahead))])[1:]
    assert worst(found[: len(load)], load) <= WITHIN_US
    found = found[len(load) :]
    planned: list[Edge] = [(-1, idle)]
    ticks = 0
    while len(changes(planned)) <= len(found):
        now = tracks.tick(tick + ahead + ticks, ticks == 0)
        planned += edges_of(now, ticks * SECOND_US)
        ticks += 1
    planned = changes(planned)[1:][: len(found)]
    late_us = worst(found, planned)
    assert late_us <= WITHIN_US
    set_us = found[0][0] - planned[0][0] - ahead * SECOND_US
    assert abs(set_us - start_us) < 20_000, "the first tick was that of the time that was set"
    return f"{ticks} ticks, {len(found)} edges, none more than {late_us:.0f} us from its time"


LENGTHS = [
    ("23:59:57", 8),
    pytest.param("23:59:30", 60, marks=pytest.mark.thorough),
    pytest.param("23:30:00", 3_600, marks=pytest.mark.campaign),
    pytest.param("21:00:00", 21_600, marks=pytest.mark.campaign),
]


@pytest.mark.parametrize(("begin", "seconds"), LENGTHS)
def test_each_second_shows_the_right_time(
    clock: Controller, tracks: TrackSet, begin: str, seconds: int
) -> None:
    hours, minutes, rest = map(int, begin.split(":"))
    script = ["for 5000000", "mark", f"send time {begin}", f"for {seconds * SECOND_US}", "masked"]
    ran = clock.run(script)
    answer = ran.answers[0].split()
    assert answer[:2] == ["time", "homing"]
    assert answer[-1] == begin
    sent_us = 300 * (len(begin) + 6)
    tick = 3_600 * hours + 60 * minutes + rest
    told = assert_right_time(ran, tracks, ran.marks[0] + sent_us, tick)
    print(f"\n{told}; interrupts off for {ran.masked[-1]:.0f} us at most")


@pytest.mark.thorough
def test_it_starts_by_itself_at_midnight(clock: Controller, tracks: TrackSet) -> None:
    ran = clock.run(["for 9000000", "send time"])
    assert ran.answers[0].split()[:2] == ["time", "busy"]
    assert ran.answers[0].endswith("00:00:08")
    told = assert_right_time(ran, tracks, 17_500, 0)
    print(f"\n{told}")


@pytest.mark.quick(0, 1)
@pytest.mark.parametrize("count", [6, 200])
def test_a_stop_is_obeyed_within_a_millisecond(
    clock: Controller, tracks: TrackSet, count: int
) -> None:
    chance = random.Random(count)
    late: list[float] = []
    while len(late) < count:
        script = [f"for {4_500_000 + chance.randrange(SECOND_US)}", "mark", "byte 33", "for 20000"]
        ran = clock.run(script)
        before = [word for at, word in ran.edges if at <= ran.marks[0]]
        if before[-1] != tracks.idle_word:
            after = [at for at, word in ran.edges if at > ran.marks[0]]
            assert ran.edges[-1] == (after[0], tracks.idle_word)
            late.append(after[0] - ran.marks[0] - 260)
    print(f"\n{count} stops, the latest after {max(late):.0f} us")
    assert max(late) < 1_000


def test_the_clock_fits(clock: Controller, tracks: TrackSet, machine: Machine) -> None:
    image = build_of(AVR, machine, tracks).image
    flash, ram = clock.size()
    foretold = sizes(AVR, machine, tracks)
    assert foretold is not None
    print(f"\ntables {image.size} bytes, flash {flash}, RAM {ram}; foretold {foretold}")
    assert image.size <= 6 * 1024
    assert flash <= foretold.flash_bytes <= flash + 512
    assert ram + STACK_BYTES <= foretold.ram_bytes <= ram + 2 * STACK_BYTES


def test_an_ordinary_build_has_none_of_it(tracks: TrackSet) -> None:
    names = {file.name for file in AVR.files_for(tracks=False)}
    more = {file.name for file in AVR.files_for(tracks=True)} - names
    assert more == {"seqc_tracks.c", "seqc_tracks.h", "seqc_clock.c", "seqc_clock.h"}
    assert replace(tracks, is_clock=False).ticks == DAY


@pytest.mark.quick(0, 1)
@pytest.mark.parametrize("count", [2, 200])
def test_bits_of_the_ram_that_turn_over_leave_it_right_or_dark(
    clock: Controller, tracks: TrackSet, count: int
) -> None:
    chance = random.Random(7)
    used = clock.size()[1]
    dark = 0
    for _ in range(count):
        flip = f"ram {0x100 + chance.randrange(used)} {chance.randrange(8)}"
        moment_us = 4_200_000 + chance.randrange(SECOND_US)
        ran = clock.run([f"for {moment_us}", flip, "for 9000000", "send status all"])
        words = ran.answers[-1].split()
        assert words[1] in ("busy", "fault"), flip
        dark += words[1] == "fault"
        if words[1] == "fault":
            assert ran.edges[-1][1] == tracks.idle_word
            assert words[-1] != "none", flip
        else:
            assert_ticks(settled(ran.edges)[-30:], tracks, flip)
    print(f"\nbits of RAM: {count}, dark with a fault {dark}")


def assert_ticks(found: list[tuple[float, int]], tracks: TrackSet, what: str) -> None:
    """The last edges are those of ticks soon after midnight."""
    for begin in range(3, 16):
        planned: list[Edge] = [(-1, tracks.idle_word)]
        for tick in range(begin, begin + 4):
            planned += edges_of(tracks.tick(tick), tick * SECOND_US)
        edges = changes(planned)[1:]
        words = [word for _, word in edges]
        for at in range(len(edges) - len(found) + 1):
            if words[at : at + len(found)] == [word for _, word in found]:
                assert worst(found, edges[at : at + len(found)]) <= WITHIN_US, what
                return
    pytest.fail(f"no ticks of the clock after {what}")
