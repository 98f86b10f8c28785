"""Packs a table set into the smallest image."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TypeVar

from seqc.codegen.image import ANY_FRAME, Frame, Image, Run, Shape
from seqc.codegen.limits import Limit
from seqc.codegen.track_image import NONE, KindPart, MovePart, TrackPart, TrackPlayed
from seqc.machine.steptable import StepTable, TableSet, TablesFor
from seqc.machine.tracks import TrackSet

Value = TypeVar("Value")


def pack(
    table_set: TableSet | TrackSet,
    pairs: Sequence[tuple[int, int]],
    rest_us: int = 0,
    limits: Sequence[Limit] = (),
) -> Image:
    """The smallest of the images with records shared and not shared.

    `pairs` are the outputs that must never be active together, `rest_us` how long all outputs are
    inactive before home, `limits` what the cap keeps. The table set has been checked.
    """
    image = min(
        (_image(table_set, shared) for shared in (False, True)), key=lambda image: image.size
    )
    return replace(image, pairs=tuple(pairs), rest_us=rest_us, limits=tuple(limits))


def _image(table_set: TableSet | TrackSet, shared: bool) -> Image:
    if isinstance(table_set, TrackSet):
        return _tracks_packed(table_set, shared)
    return _packed(table_set, shared)


def frames_of(table_set: TableSet) -> tuple[Frame, ...]:
    """Every frame that a table shows or comes after, each once, in order of appearance."""
    shown = [table.shows for table in table_set.tables]
    return tuple(dict.fromkeys([*shown, *(t.after for t in table_set.tables if t.after)]))


def chosen_by_frame(table_set: TableSet) -> bool:
    """Whether a frame alone does not tell its table, so that the image must list them."""
    if table_set.tables_for in (TablesFor.PROGRAMME, TablesFor.COMMISSIONING):
        return False
    shown = {table.shows for table in table_set.tables}
    ordered = any(table.after for table in table_set.tables)
    return ordered or len(shown) < len(table_set.tables)


def _packed(table_set: TableSet, shared: bool) -> Image:
    runs = [Run.of(table) for table in table_set]
    frames = _frames(table_set)
    image = _image_of(runs, table_set, table_set.idle_word, table_set.width, shared)
    return replace(
        image,
        tables_for=table_set.tables_for,
        shape=replace(image.shape, frame=_bytes(len(frames_of(table_set))) if frames else 0),
        repeat_from=table_set.repeat_from,
        clear=table_set.clear is not None,
        frames=frames,
    )


def _tracks_packed(track_set: TrackSet, shared: bool) -> Image:
    tables = _numbered(Run.of(table) for table in _tables_of(track_set))
    width = max(kind.width for kind in track_set.kinds)
    image = _image_of(list(tables), track_set, 0, width, shared)
    return replace(image, tracks=_track_part(track_set, tables))


def _tables_of(track_set: TrackSet) -> Iterator[StepTable]:
    for kind in track_set.kinds:
        yield kind.home
        for move in kind.moves:
            yield from (move.load, move.change)


def _track_part(track_set: TrackSet, tables: Mapping[Run, int]) -> TrackPart:
    kinds: list[KindPart] = []
    moves: list[MovePart] = []
    glyphs: list[dict[str, int]] = []
    for kind in track_set.kinds:
        kinds.append(KindPart(kind.width, tables[Run.of(kind.home)], len(moves), len(kind.moves)))
        named = (glyph for move in kind.moves for glyph in (move.before, move.after))
        glyphs.append(_numbered(glyph for glyph in named if glyph is not None))
        moves += [
            MovePart(
                NONE if move.before is None else glyphs[-1][move.before],
                glyphs[-1][move.after],
                tables[Run.of(move.load)],
                tables[Run.of(move.change)],
            )
            for move in kind.moves
        ]
    quiet = track_set.quiet
    return TrackPart(
        track_set.tick_us,
        track_set.home_length_us,
        track_set.first_length_us,
        track_set.ticks,
        (quiet.start, quiet.end) if quiet else None,
        track_set.is_clock,
        tuple(kinds),
        tuple(moves),
        tuple(
            TrackPlayed(
                track.kind,
                track.quiet,
                track.outputs,
                track.every,
                tuple(glyphs[track.kind][glyph] for glyph in track.shows),
                track.home_us,
                track.load_us,
                track.change_us,
            )
            for track in track_set.tracks
        ),
    )


def _image_of(
    runs: Sequence[Run],
    table_set: TableSet | TrackSet,
    idle_word: int,
    width: int,
    shared: bool,
) -> Image:
    """The image of tables whose words have `width` outputs, as it is for a programme."""
    unit_us = math.gcd(*(hold for run in runs for hold, _ in run.steps)) or 1
    steps = [step for run in runs for step in _changes(run, unit_us, idle_word)]
    holds = _numbered(hold for hold, _ in steps)
    changes = _numbered(change for _, change in steps)
    chosen = [(holds[hold], changes[change]) for hold, change in steps]
    records = _numbered(chosen) if shared else {}
    starts = [0, *itertools.accumulate(len(run.steps) for run in runs)]
    shape = Shape(
        word=_bytes((1 << table_set.width) - 1),
        time=_bytes(max(holds)),
        hold=_bytes(len(holds) - 1),
        change=_bytes(len(changes) - 1),
        index=_bytes(len(records) - 1) if shared else 0,
        start=_bytes(starts[-1]),
        frame=0,
        mask=_bytes((1 << width) - 1),
    )
    return Image(
        tables_for=TablesFor.PROGRAMME,
        shape=shape,
        width=table_set.width,
        unit_us=unit_us,
        slack_us=table_set.slack_us,
        spare_us=table_set.spare_us,
        rest_us=0,
        idle_word=table_set.idle_word,
        repeat_from=None,
        clear=False,
        pairs=(),
        limits=(),
        starts=tuple(starts),
        frames=(),
        holds=tuple(holds),
        changes=tuple(changes),
        records=tuple(records) if shared else tuple(chosen),
        order=tuple(records[record] for record in chosen) if shared else (),
    )


def _changes(run: Run, unit_us: int, idle_word: int) -> Iterator[tuple[int, int]]:
    """For each step its hold in units and the outputs that change before it."""
    before = idle_word
    for hold_us, word in run.steps:
        yield hold_us // unit_us, word ^ before
        before = word


def _numbered(values: Iterable[Value]) -> dict[Value, int]:
    """Every value with a number, in order of appearance."""
    found: dict[Value, int] = {}
    for value in values:
        found.setdefault(value, len(found))
    return found


def _frames(table_set: TableSet) -> tuple[tuple[int, int], ...]:
    if not chosen_by_frame(table_set):
        return ()
    number = {frame: rank for rank, frame in enumerate(frames_of(table_set))}
    return tuple(
        (number[table.shows], number[table.after] if table.after else ANY_FRAME)
        for table in table_set.tables
    )


def _bytes(largest: int) -> int:
    """How many bytes hold numbers up to `largest`."""
    return max(1, (largest.bit_length() + 7) // 8)
