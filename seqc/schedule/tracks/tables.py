"""Tracks as the tables of their kinds of grid, whose words have a bit for each of its outputs."""

from __future__ import annotations

from collections.abc import Sequence

from seqc.machine import tracks as model
from seqc.machine.model import Machine
from seqc.machine.steptable import LONGEST_HOLD_US, Step, StepTable
from seqc.schedule.drives.rules import Span
from seqc.schedule.encode import spans_of, steps_between
from seqc.schedule.frame import Stretch
from seqc.schedule.tables import slack_us
from seqc.schedule.topology import Topology
from seqc.schedule.tracks.delays import Track
from seqc.schedule.tracks.moving import TimedKind
from seqc.schedule.tracks.timing import TracksTiming

EMPTY = StepTable("nothing", (Step(0, 0),), 1)


def track_set(machine: Machine, timing: TracksTiming) -> model.TrackSet:
    """The tables of a programme by tracks at its cadence, or at the shortest if that is longer."""
    kinds = [_tables(timing.topology, kind) for kind in timing.kinds]
    tracks = [
        _track(track, number)
        for track, (_, number) in zip(timing.tracks, timing.planned.copies, strict=True)
    ]
    programme = timing.planned.programme
    tick_us = max(programme.every_us, timing.period_us)
    return model.TrackSet(
        machine.name,
        machine.width,
        machine.idle_word,
        slack_us(machine, timing.topology.machine),
        tick_us,
        max(track.home_us + kinds[track.kind].home.length_us for track in tracks),
        max(track.home_us + _first_us(kinds[track.kind], track) for track in tracks),
        min(tick_us - timing.period_us, LONGEST_HOLD_US),
        tuple(kinds),
        tuple(tracks),
        is_clock=programme.is_clock and tick_us == programme.every_us,
        quiet=programme.quiet,
    )


def _track(track: Track, kind: int) -> model.Track:
    rotation = track.copy.rotation
    return model.Track(
        track.copy.grid,
        kind,
        track.copy.outputs,
        rotation.every if rotation else 1,
        tuple(glyph.name for glyph in rotation.glyphs) if rotation else (model.NOTHING,),
        track.home_us,
        track.load_us,
        track.change_us,
        rotation is not None and rotation.rests,
    )


def _first_us(tables: model.GridTables, track: model.Track) -> int:
    """How long the longest first load of a track takes."""
    return max(tables.move(None, glyph).load.length_us for glyph in track.shows)


def _tables(topology: Topology, timed: TimedKind) -> model.GridTables:
    """All tables of a kind."""
    outputs = timed.kind.copies[0].outputs
    moves = [
        model.Move(
            before,
            after,
            _table(topology, outputs, f"load {before or 'home'} to {after}", move.load),
            _table(topology, outputs, f"change {before or 'home'} to {after}", move.change),
        )
        for (before, after), move in timed.moves.items()
        if before != after
    ]
    if any(copy.rotation is None for copy in timed.kind.copies):
        moves.append(model.Move(None, model.NOTHING, EMPTY, EMPTY))
    home = _table(topology, outputs, "home", timed.home)
    return model.GridTables(len(outputs), home, tuple(moves))


def _table(topology: Topology, outputs: Sequence[int], name: str, stretch: Stretch) -> StepTable:
    """A stretch in words of its grid; it ends with a quiet grid."""
    lead_us = topology.durations.lead_us
    length_us = max(stretch.quiet_us + lead_us, 1)
    place = {output: bit for bit, output in enumerate(outputs)}
    spans = [
        Span(place[span.output], span.on_us, span.off_us, span.bridge_us)
        for span in spans_of(pulse.later(lead_us) for pulse in stretch.pulses)
    ]
    steps, left = steps_between(0, spans, length_us)
    assert not left, "a quiet grid has no active output"
    return StepTable(name, steps, length_us)
