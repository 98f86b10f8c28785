"""Bits that turn over in what the player of tracks knows: right again, or dark with a fault."""

from __future__ import annotations

import random
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass, replace

import pytest
from firmware.handmade import machine_of
from firmware.host import Edge, Heard, HostPlayer, State, changes, edges_of, needs, player_for
from firmware.tracked import small_tracks

pytestmark = [needs("gcc", "nm"), pytest.mark.counts]

LONGEST_US = 60_000
MACHINE = machine_of(14, low=True, longest_us=56_000)
IDLE = MACHINE.idle_word
CLOCK = replace(small_tracks(MACHINE), is_clock=True)
SECOND_US = 1_000_000
READY = ("home", "play 0 297", "run")
KEPT = ("tracks", "copies", "player", "cap", "next", "countdown")
"""All that the player keeps: tracks, the clock twice, its own state, and the cap's."""


@dataclass(frozen=True)
class Kept:
    """What is kept under one name: where it lies, and its bytes."""

    name: str
    at: int
    size: int


@pytest.fixture(scope="module")
def player(tmp_path_factory: pytest.TempPathFactory) -> HostPlayer:
    return player_for(tmp_path_factory.mktemp("clock"), MACHINE, CLOCK, "-no-pie", "-g")


@pytest.fixture(scope="module")
def kept(player: HostPlayer) -> list[Kept]:
    told = subprocess.run(["nm", "-S", player.program], capture_output=True, text=True, check=True)
    rows = [line.split() for line in told.stdout.splitlines()]
    found = [
        Kept(row[3], int(row[0], 16), int(row[1], 16))
        for row in rows
        if len(row) == 4 and row[3] in KEPT
    ]
    assert len(found) == len(KEPT)
    return found


def script_of(flip: str, polls: int) -> list[str]:
    """Plays, has a bit turn over, waits until all should be well, and plays on."""
    begin = [*READY, f"play 0 {polls}", flip]
    return [*begin, "until 25000000 500", "play 0 400", "state"]


def held(heard: Heard) -> Iterator[tuple[int, int]]:
    """Every output that was active, and for how long."""
    since: dict[int, int] = {}
    for at, word in heard.edges:
        active = word ^ IDLE
        for output in range(MACHINE.width):
            if active >> output & 1:
                since.setdefault(output, at)
            elif output in since:
                yield output, at - since.pop(output)


def assert_harmless(heard: Heard, what: str) -> None:
    """No output was active too long, and no coil had both polarities."""
    assert all(us <= LONGEST_US for _, us in held(heard)), what
    active = [word ^ IDLE for _, word in heard.edges]
    assert not any(word & word >> 1 & 0b01010101010101 for word in active), what


def is_right(heard: Heard) -> bool:
    """Whether the last two whole ticks were those of the time since power-on."""
    last = heard.edges[-1][0] // SECOND_US
    planned: list[Edge] = [(0, IDLE)]
    for tick in (last - 2, last - 1):
        planned += edges_of(CLOCK.tick(tick), tick * SECOND_US)
    span = range((last - 2) * SECOND_US, last * SECOND_US)
    shown = [edge for edge in changes(list(heard.edges)) if edge[0] in span]
    return shown == changes(planned)[1:]


def assert_right_or_dark(heard: Heard, what: str) -> bool:
    """The display shows the right time again, or is dark and says why; whether it is right."""
    ((state, _, _, cause),) = heard.answer("state")
    if state == State.FAULT:
        assert heard.edges[-1][1] == IDLE, what
        assert cause, what
        return False
    assert state == State.BUSY, what
    assert is_right(heard), what
    return True


def test_without_a_flip_it_is_right(player: HostPlayer, kept: list[Kept]) -> None:
    heard = player.play(script_of("state", 100))
    assert is_right(heard)
    assert sum(one.size for one in kept) > 200


COUNTS = [
    40,
    pytest.param(300, marks=pytest.mark.thorough),
    pytest.param(3_000, marks=pytest.mark.campaign),
]


@pytest.mark.parametrize("count", COUNTS)
def test_a_bit_that_turns_over_does_no_harm(
    player: HostPlayer, kept: list[Kept], count: int
) -> None:
    chance = random.Random(count)
    dark = 0
    for _ in range(count):
        one = chance.choice(kept)
        offset, bit, polls = chance.randrange(one.size), chance.randrange(8), chance.randrange(400)
        what = f"bit {bit} of byte {offset} of {one.name} after {polls} polls"
        heard = player.play(script_of(f"ram {one.at + offset} {bit}", polls))
        assert_harmless(heard, what)
        dark += not assert_right_or_dark(heard, what)
    print(f"\nbits: {count}, held too long 0, both polarities 0, dark with a fault {dark}")


def test_the_time_outlives_every_bit_of_it(player: HostPlayer, kept: list[Kept]) -> None:
    (clock,) = (one for one in kept if one.name == "copies")
    for offset in range(0, clock.size, 3):
        heard = player.play(script_of(f"ram {clock.at + offset} {offset % 8}", 150))
        assert heard.answer("state")[0][0] == State.BUSY
        assert is_right(heard), f"byte {offset}"
