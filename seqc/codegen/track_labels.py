"""What a set of tracks holds besides its steps: the names of its grids, glyphs and tables."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from seqc.codegen.image import Image, Run
from seqc.codegen.labels import check_below, check_table, check_texts, frame_of
from seqc.codegen.names import note
from seqc.codegen.track_image import NONE, KindPart, TrackPart
from seqc.machine.steptable import StepTable
from seqc.machine.tracks import GridTables, Move, Quiet, Track, TrackSet

NOTE = re.compile(r"(?:/\*|#) seqc (machine|kind|move|track) ")
MOST_TICKS = 1 << 31
LONGEST_US = 1 << 32

Label = Sequence[Any]
"""The name of a table, what it shows and what it comes after, as JSON has them."""


@dataclass(frozen=True)
class TrackLabels:
    """All the names of a set of tracks: what its image leaves out.

    `homes` are the home tables of the kinds; `moves` are those of all kinds, with the two glyphs
    and the two tables of each; `grids` are those of the tracks.
    """

    machine: str
    homes: tuple[Label, ...]
    moves: tuple[tuple[str | None, str, Label, Label], ...]
    grids: tuple[str, ...]

    @classmethod
    def of(cls, track_set: TrackSet) -> TrackLabels:
        """The names of a set of tracks."""
        return cls(
            track_set.machine,
            tuple(_label(kind.home) for kind in track_set.kinds),
            tuple(
                (move.before, move.after, _label(move.load), _label(move.change))
                for kind in track_set.kinds
                for move in kind.moves
            ),
            tuple(track.grid for track in track_set.tracks),
        )

    def notes(self) -> tuple[str, ...]:
        """One line for the machine, each kind, each move and each track, fit for any comment."""
        rows: list[tuple[str, object]] = [("machine", self.machine)]
        rows += [("kind", home) for home in self.homes]
        rows += [("move", move) for move in self.moves]
        rows += [("track", grid) for grid in self.grids]
        return tuple(f"seqc {what} {note(value)}" for what, value in rows)

    @classmethod
    def found_in(cls, text: str) -> TrackLabels:
        """The names in the notes of a file."""
        found: dict[str, list[Any]] = {"machine": [], "kind": [], "move": [], "track": []}
        for line in text.split("\n"):
            row = NOTE.match(line)
            if row:
                value = json.loads(line[row.end() :].rstrip().removesuffix("*/"))
                found[row[1]].append(value)
        moves = ((before, after, load, change) for before, after, load, change in found["move"])
        return cls(found["machine"][0], tuple(found["kind"]), tuple(moves), tuple(found["track"]))

    def named(self, image: Image) -> TrackSet:
        """The set of tracks of an image and these names.

        Raises ValueError where they don't fit, or a number is none.
        """
        part = image.tracks
        assert part is not None
        counts = (len(part.kinds), len(part.moves), len(part.tracks))
        if counts != (len(self.homes), len(self.moves), len(self.grids)):
            raise ValueError("the names of the tracks aren't those of the image")
        runs = image.runs
        kinds = tuple(self._kind(kind, home, runs, part) for kind, home in _with(part, self.homes))
        found = TrackSet(
            self.machine,
            image.width,
            image.idle_word,
            image.slack_us,
            part.tick_us,
            part.home_length_us,
            part.first_length_us,
            image.spare_us,
            kinds,
            tuple(self._tracks(part)),
            part.is_clock,
            Quiet(*part.quiet) if part.quiet else None,
        )
        check_tracks(found)
        if found.ticks != part.ticks:
            raise ValueError("the tracks of the image don't come round as it says")
        return found

    def _kind(
        self, kind: KindPart, home: Label, runs: Sequence[Run], part: TrackPart
    ) -> GridTables:
        numbers = range(kind.first, kind.first + kind.moves)
        moves = []
        for number in numbers:
            before, after, load, change = self.moves[number]
            move = part.moves[number]
            if (before is None) != (move.before == NONE):
                raise ValueError("a move from home is named otherwise, or the other way round")
            moves.append(
                Move(
                    before, after, _table(runs[move.load], load), _table(runs[move.change], change)
                )
            )
        return GridTables(kind.width, _table(runs[kind.home], home), tuple(moves))

    def _tracks(self, part: TrackPart) -> Iterator[Track]:
        for track, grid in zip(part.tracks, self.grids, strict=True):
            glyphs = self._glyphs(part.kinds[track.kind], part)
            yield Track(
                grid,
                track.kind,
                track.outputs,
                track.every,
                tuple(glyphs[glyph] for glyph in track.shows),
                track.home_us,
                track.load_us,
                track.change_us,
                track.quiet,
            )

    def _glyphs(self, kind: KindPart, part: TrackPart) -> dict[int, str]:
        """The names of a kind's glyphs by their numbers."""
        numbers = range(kind.first, kind.first + kind.moves)
        return {part.moves[number].after: self.moves[number][1] for number in numbers}


def check_tracks(found: TrackSet) -> None:
    """Refuse what a file may hold in the place of a number or a name, with a ValueError."""
    texts = [found.machine]
    check_below(1 << found.width, found.idle_word)
    for kind in found.kinds:
        texts += [glyph for move in kind.moves for glyph in (move.before or "", move.after)]
        for table in (kind.home, *(t for move in kind.moves for t in (move.load, move.change))):
            check_table(table, kind.width)
    lengths = (found.tick_us, found.home_length_us, found.first_length_us)
    check_below(LONGEST_US, *lengths, found.slack_us, found.spare_us)
    round_ticks = 1
    for track in found.tracks:
        texts += [track.grid, *track.shows]
        check_below(found.width, *track.outputs)
        check_below(LONGEST_US, track.every, track.home_us, track.load_us, track.change_us)
        round_ticks = math.lcm(round_ticks, track.round_ticks)
        check_below(MOST_TICKS, round_ticks)
    check_texts(texts)


def _with(part: TrackPart, homes: Sequence[Label]) -> Iterator[tuple[KindPart, Label]]:
    return zip(part.kinds, homes, strict=True)


def _label(table: StepTable) -> Label:
    return [table.name, table.shows, table.after]


def _table(run: Run, label: Label) -> StepTable:
    name, shows, after = label
    return run.table(name, frame_of(shows), frame_of(after))
