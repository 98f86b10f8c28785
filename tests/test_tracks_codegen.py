"""Sets of tracks are packed, come back whole, and are refused where they can't be played."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from dataclasses import replace

import pytest
from firmware.handmade import machine_of
from firmware.host import target
from firmware.tracked import SWAP, pulses, small_tracks
from hypothesis import given, settings
from hypothesis import strategies as st

from seqc.codegen import read_back, render, sizes, targets
from seqc.codegen.crc import crc16
from seqc.codegen.image import Run, parse
from seqc.codegen.rendering import build_of
from seqc.machine.findings import InputError
from seqc.machine.tracks import GridTables, Quiet, TrackSet

MACHINE = machine_of(14, low=True, longest_us=60_000)
TRACKS = small_tracks(MACHINE)
IHEX = target("ihex")
PLAYING = [one.name for one in targets() if one.tracks is not None and one.reads]
CHANGES: dict[str, TrackSet] = {
    "quiet": TRACKS,
    "never quiet": replace(TRACKS, quiet=None),
    "quiet within a day": replace(TRACKS, quiet=Quiet(12, 70)),
    "always quiet": replace(TRACKS, quiet=Quiet(0, 90)),
    "a clock": replace(TRACKS, is_clock=True),
    "odd names": replace(TRACKS, machine='*/ "\n☂'),
    "one track": replace(TRACKS, tracks=TRACKS.tracks[1:2]),
}


@pytest.mark.parametrize("name", PLAYING)
@pytest.mark.parametrize("case", CHANGES)
def test_reading_back_gives_the_same_set_of_tracks(name: str, case: str) -> None:
    files = render(target(name), MACHINE, CHANGES[case])
    assert read_back(target(name), files) == CHANGES[case]


@pytest.mark.parametrize("name", [one.name for one in targets() if one.tracks is None])
def test_a_target_that_plays_no_tracks_refuses_them(name: str) -> None:
    with pytest.raises(InputError, match=f"the target '{name}' can't play tracks"):
        render(target(name), MACHINE, TRACKS)


def test_a_table_is_kept_once_however_many_moves_use_it() -> None:
    image = build_of(IHEX, MACHINE, TRACKS).image
    moves = [move for kind in TRACKS.kinds for move in kind.moves]
    different = {Run.of(table) for move in moves for table in (move.load, move.change)}
    assert sum(move.change == SWAP for move in moves) > 10
    assert image.tables == len(different) + 1, "one home is the first"


def test_a_change_takes_as_many_bytes_as_a_grid_has_outputs() -> None:
    image = build_of(IHEX, MACHINE, TRACKS).image
    assert image.shape.word == 2
    assert image.shape.mask == 1
    assert sum(len(section.data) for section in image.sections) == image.size
    assert parse(image.data) == image


def test_the_wiring_is_that_of_the_machine() -> None:
    assert "output" in "".join(render(target("wiring"), MACHINE, TRACKS).values())
    assert sizes(IHEX, MACHINE, TRACKS) is None


@settings(max_examples=150, deadline=None)
@given(data=st.data())
def test_spoilt_images_are_refused_or_read(data: st.DataObject) -> None:
    image = bytearray(build_of(IHEX, MACHINE, TRACKS).image.data[:-2])
    for _ in range(data.draw(st.integers(1, 4))):
        image[data.draw(st.integers(0, len(image) - 1))] = data.draw(st.integers(0, 255))
    whole = bytes(image) + crc16(bytes(image)).to_bytes(2, "little")
    with contextlib.suppress(ValueError, LookupError):
        assert len(parse(whole).runs) < 1_000


def late(tracks: TrackSet) -> TrackSet:
    return replace(tracks, first_length_us=200_000)


def harmful(tracks: TrackSet) -> TrackSet:
    both = pulses("home", [(0, 5_000, 30_000), (1, 20_000, 40_000)], 50_000)
    numerals, colon = tracks.kinds
    return replace(tracks, kinds=(replace(numerals, home=both), colon))


def unending(tracks: TrackSet) -> TrackSet:
    numerals, colon = tracks.kinds
    home = replace(numerals.home, steps=numerals.home.steps[:-1])
    return replace(tracks, kinds=(replace(numerals, home=home), colon))


def held(tracks: TrackSet) -> TrackSet:
    long = pulses("home", [(1, 5_000, 95_000)], 100_000)
    numerals, colon = tracks.kinds
    return replace(tracks, kinds=(replace(numerals, home=long), colon))


def without_a_move(tracks: TrackSet) -> TrackSet:
    numerals, colon = tracks.kinds
    return replace(tracks, kinds=(GridTables(numerals.width, numerals.home, ()), colon))


def endless(tracks: TrackSet) -> TrackSet:
    primes = (65_537, 65_539, 65_543)
    made = (replace(track, every=n) for track, n in zip(tracks.tracks, primes, strict=True))
    return replace(tracks, tracks=tuple(made))


@pytest.mark.parametrize(
    ("spoil", "message"),
    [
        (harmful, "outputs 12 and 13 active together"),
        (held, "active for 90 ms"),
        (endless, "come round after"),
        (lambda tracks: replace(tracks, tick_us=71 * 60_000_000), "longer than 70 minutes"),
    ],
)
def test_a_set_that_would_do_harm_is_refused(
    spoil: Callable[[TrackSet], TrackSet], message: str
) -> None:
    with pytest.raises(InputError, match=message):
        render(IHEX, MACHINE, spoil(TRACKS))


@pytest.mark.parametrize("spoil", [late, unending, without_a_move])
def test_a_set_that_is_none_is_refused(spoil: Callable[[TrackSet], TrackSet]) -> None:
    with pytest.raises((ValueError, LookupError)):
        render(IHEX, MACHINE, spoil(TRACKS))
