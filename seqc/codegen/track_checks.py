"""What a set of tracks must keep before it is written for a controller."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from seqc.codegen.target import Target
from seqc.codegen.track_labels import MOST_TICKS
from seqc.machine.findings import NOWHERE, Findings, InputError
from seqc.machine.steptable import LONGEST_HOLD_US, Step, StepTable, TableSet, TablesFor
from seqc.machine.tracks import Track, TrackSet

SECOND_US = 1_000_000
MOST_NUMBER = 0xFFFE


def check_can_play(target: Target) -> None:
    """Raise InputError where a target can't play tracks."""
    if target.tracks is None:
        findings = Findings()
        findings.error(
            "no-tracks",
            f"the target {target.name!r} can't play tracks: grids that change independently",
            NOWHERE,
            "build for c99, avr or arduino; or build one programme that shows all grids",
        )
        raise InputError(findings)


def laid_out(track_set: TrackSet) -> TableSet:
    """Every table of every track by the machine's outputs, one after the other, to be checked.

    Raises InputError where the set is too large for a controller, ValueError where it is none.
    """
    _check_form(track_set)
    findings = Findings()
    for message, hint in _too_large(track_set):
        findings.error("tracks-too-large", message, NOWHERE, hint)
    if findings.has_errors:
        raise InputError(findings)
    idle = StepTable("idle", (Step(0, track_set.idle_word),), 0)
    return TableSet(
        track_set.machine,
        TablesFor.GLYPH,
        track_set.width,
        track_set.idle_word,
        track_set.slack_us,
        idle,
        tuple(_spread(track_set)),
    )


def _spread(track_set: TrackSet) -> Iterator[StepTable]:
    number = 0
    for track in track_set.tracks:
        kind = track_set.kinds[track.kind]
        moves = (table for move in kind.moves for table in (move.load, move.change))
        for table in dict.fromkeys((kind.home, *moves)):
            number += 1
            steps = tuple(
                Step(step.at_us, track_set.idle_word ^ _by_machine(step.word, track.outputs))
                for step in table.steps
            )
            yield StepTable(f"{track.grid}: {table.name} ({number})", steps, table.length_us)


def _by_machine(mask: int, outputs: tuple[int, ...]) -> int:
    """Outputs of a grid as outputs of the machine."""
    return sum(1 << output for bit, output in enumerate(outputs) if mask >> bit & 1)


def _check_form(track_set: TrackSet) -> None:
    if not track_set.tracks:
        raise ValueError("a set of tracks has tracks")
    for kind in track_set.kinds:
        for table in (kind.home, *(t for m in kind.moves for t in (m.load, m.change))):
            if table.steps[-1].word or any(step.word >> kind.width for step in table.steps):
                raise ValueError(f"table {table.name!r} ends active, or has outputs that are none")
    for track in track_set.tracks:
        _check_moves(track, track_set)
    if track_set.is_clock and track_set.tick_us % SECOND_US and SECOND_US % track_set.tick_us:
        raise ValueError("a clock's tick is neither a part of a second nor a multiple of it")


def _check_moves(track: Track, track_set: TrackSet) -> None:
    """Every move that a track makes is there, and over before its tick is."""
    tables = track_set.kinds[track.kind]
    _check_ends(track, track_set.home_length_us, tables.home, track.home_us)
    for before, after in dict.fromkeys(pairwise((*track.shows, track.shows[0]))):
        first = tables.move(None, after)
        _check_ends(track, track_set.first_length_us, first.load, track.home_us)
        _check_ends(track, track_set.tick_us, first.change, track.change_us)
        if before != after:
            move = tables.move(before, after)
            _check_ends(track, track_set.tick_us, move.load, track.load_us)
            _check_ends(track, track_set.tick_us, move.change, track.change_us)


def _check_ends(track: Track, length_us: int, table: StepTable, delay_us: int) -> None:
    if delay_us + table.steps[-1].at_us >= length_us:
        raise ValueError(f"table {table.name!r} of grid {track.grid!r} doesn't end in time")


def _too_large(track_set: TrackSet) -> Iterator[tuple[str, str]]:
    if track_set.ticks >= MOST_TICKS:
        yield (
            f"the tracks come round after {track_set.ticks} ticks only, and a controller counts "
            f"to {MOST_TICKS - 1}",
            "choose cadences and programmes whose lengths are multiples of each other",
        )
    moves = sum(len(kind.moves) for kind in track_set.kinds)
    shown = sum(len(track.shows) for track in track_set.tracks)
    if max(moves, shown) > MOST_NUMBER:
        yield (
            f"{moves} moves and {shown} frames are more than a controller holds ({MOST_NUMBER})",
            "build a shorter programme",
        )
    lengths = (track_set.tick_us, track_set.home_length_us, track_set.first_length_us)
    if max(lengths) > LONGEST_HOLD_US:
        yield (
            f"a tick is longer than {LONGEST_HOLD_US // 60_000_000} minutes, where a clock of 32 "
            "bits in microseconds wraps",
            "change more often",
        )
