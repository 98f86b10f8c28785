"""What an image has besides its tables where these are played by tracks.

Moves name their tables by number, tracks say which move is due when. Each entry of what a track
shows has two moves: the one from home and the one from the entry before.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from seqc.codegen.cursor import Cursor

NONE = 0xFFFF
"""In the place of a number: no glyph, where a grid has just come home, or no move."""

HEAD = struct.Struct("<6I5HBB")
KIND = struct.Struct("<3H")
MOVE = struct.Struct("<4H")
TRACK = struct.Struct("<2B3H4I2H")
ENTRY = struct.Struct("<2H")

MOST_SHOWN = 1 << 20

Quiet = tuple[int, int]


@dataclass(frozen=True, slots=True)
class KindPart:
    """A kind of grid: its outputs, the number of its home table, and its moves from `first` on."""

    width: int
    home: int
    first: int
    moves: int


@dataclass(frozen=True, slots=True)
class MovePart:
    """Numbers of glyphs, `NONE` before the first, and of the tables that load and change."""

    before: int
    after: int
    load: int
    change: int


@dataclass(frozen=True, slots=True)
class TrackPlayed:
    """A track: `shows` are numbers of glyphs, the rest is that of `Track`."""

    kind: int
    quiet: bool
    outputs: tuple[int, ...]
    every: int
    shows: tuple[int, ...]
    home_us: int
    load_us: int
    change_us: int


@dataclass(frozen=True)
class TrackPart:
    """Kinds, moves and tracks, and what all tracks have in common; `quiet` are two ticks."""

    tick_us: int
    home_length_us: int
    first_length_us: int
    ticks: int
    quiet: Quiet | None
    is_clock: bool
    kinds: tuple[KindPart, ...]
    moves: tuple[MovePart, ...]
    tracks: tuple[TrackPlayed, ...]

    def sections(self) -> Iterator[tuple[str, bytes]]:
        """The sections that follow those of the tables."""
        yield "grids", self._head()
        yield "kinds", b"".join(KIND.pack(k.width, k.home, k.moves) for k in self.kinds)
        moves = ((move.before, move.after, move.load, move.change) for move in self.moves)
        yield "moves", b"".join(MOVE.pack(*move) for move in moves)
        yield "tracks", b"".join(self._tracks())
        outputs = (output for track in self.tracks for output in track.outputs)
        yield "maps", b"".join(bytes((output // 8, 1 << output % 8)) for output in outputs)
        yield "shows", b"".join(ENTRY.pack(*entry) for entry in self._entries)

    def _head(self) -> bytes:
        return HEAD.pack(
            self.tick_us,
            self.home_length_us,
            self.first_length_us,
            self.ticks,
            *(self.quiet or (0, 0)),
            len(self.kinds),
            len(self.moves),
            len(self.tracks),
            sum(len(track.outputs) for track in self.tracks),
            len(self._entries),
            self.is_clock,
            self.quiet is not None,
        )

    @cached_property
    def _numbers(self) -> Mapping[tuple[int, int, int], int]:
        """The number of each move by its kind and its glyphs."""
        return {
            (kind, move.before, move.after): number
            for kind, part in enumerate(self.kinds)
            for number in range(part.first, part.first + part.moves)
            for move in [self.moves[number]]
        }

    def _move(self, kind: int, before: int, after: int) -> int:
        return NONE if before == after else self._numbers[kind, before, after]

    @cached_property
    def _shown(self) -> Mapping[tuple[int, tuple[int, ...]], int]:
        """The first entry of whatever is shown; tracks that show the same share theirs."""
        found: dict[tuple[int, tuple[int, ...]], int] = {}
        at = 0
        for track in self.tracks:
            if (track.kind, track.shows) not in found:
                found[track.kind, track.shows] = at
                at += len(track.shows)
        return found

    @property
    def _entries(self) -> list[tuple[int, int]]:
        return [
            (self._move(kind, NONE, glyph), self._move(kind, shows[rank - 1], glyph))
            for kind, shows in self._shown
            for rank, glyph in enumerate(shows)
        ]

    def _tracks(self) -> Iterator[bytes]:
        at = 0
        for track in self.tracks:
            first = self._shown[track.kind, track.shows]
            rest, wake = self._quiet(track)
            yield TRACK.pack(
                track.kind,
                track.quiet,
                at,
                first,
                len(track.shows),
                track.every,
                track.home_us,
                track.load_us,
                track.change_us,
                first + rest,
                wake,
            )
            at += len(track.outputs)

    def _quiet(self, track: TrackPlayed) -> tuple[int, int]:
        """The place that a quiet track stays at, and its move when that is over."""
        if not (track.quiet and self.quiet):
            return 0, NONE
        start, end = (tick % self.ticks // track.every % len(track.shows) for tick in self.quiet)
        move = (track.kind, track.shows[start], track.shows[end])
        return start, self._numbers.get(move, NONE)


def parse_tracks(cursor: Cursor, tables: int) -> TrackPart:
    """Read it back, where the image has so many tables; raises ValueError where it is cut short."""
    *times, kinds, moves, tracks, outputs, entries, is_clock, quiet = cursor.unpacked(HEAD)
    tick_us, home_us, first_us, ticks, start, end = times
    kind_rows = _records(cursor, KIND, kinds)
    move_rows = _records(cursor, MOVE, moves)
    track_rows = _records(cursor, TRACK, tracks)
    places = _records(cursor, struct.Struct("<2B"), outputs)
    shown = _records(cursor, ENTRY, entries)
    found_moves = tuple(MovePart(*row) for row in move_rows)
    found_kinds = tuple(_kinds(kind_rows))
    named = [kind.home for kind in found_kinds]
    named += [number for move in found_moves for number in (move.load, move.change)]
    if any(number >= tables for number in named):
        raise ValueError("the image names tables that it hasn't")
    if sum(row[4] for row in track_rows) > MOST_SHOWN:
        raise ValueError(f"the tracks of the image show more than {MOST_SHOWN} frames")
    return TrackPart(
        tick_us,
        home_us,
        first_us,
        ticks,
        (start, end) if quiet else None,
        bool(is_clock),
        found_kinds,
        found_moves,
        tuple(
            _track(
                row,
                places[row[2] : row[2] + found_kinds[row[0]].width],
                tuple(found_moves[first].after for first, _ in shown[row[3] : row[3] + row[4]]),
            )
            for row in track_rows
        ),
    )


def _records(cursor: Cursor, form: struct.Struct, count: int) -> list[tuple[int, ...]]:
    cursor.need(count, form.size)
    return [cursor.unpacked(form) for _ in range(count)]


def _kinds(rows: Sequence[tuple[int, ...]]) -> Iterator[KindPart]:
    first = 0
    for width, home, moves in rows:
        yield KindPart(width, home, first, moves)
        first += moves


def _track(
    row: tuple[int, ...], places: Sequence[tuple[int, ...]], shows: tuple[int, ...]
) -> TrackPlayed:
    kind, quiet, _, _, _, every, *delays, _, _ = row
    if not shows or not every or any(mask.bit_count() != 1 for _, mask in places):
        raise ValueError("a track of the image shows nothing, or has outputs that are none")
    outputs = tuple(8 * at + mask.bit_length() - 1 for at, mask in places)
    return TrackPlayed(kind, bool(quiet), outputs, every, shows, *delays)
