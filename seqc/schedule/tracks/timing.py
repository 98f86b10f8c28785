"""A programme by tracks in time: delays for each track, and the ticks that come of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from seqc.machine.effort import Effort
from seqc.machine.model import Machine
from seqc.schedule.chain import Link
from seqc.schedule.frame import Stretch
from seqc.schedule.pulses import in_order
from seqc.schedule.tick import Tick
from seqc.schedule.timing import ProgrammeTiming
from seqc.schedule.topology import Topology, playable
from seqc.schedule.tracks.delays import Delays, Track
from seqc.schedule.tracks.kinds import Translation
from seqc.schedule.tracks.moving import Moving, TimedKind
from seqc.schedule.tracks.planning import TracksPlan
from seqc.schedule.tracks.rounds import Row
from seqc.solver.plan import FramePlan
from seqc.solver.rotations import Move


@dataclass(frozen=True)
class TracksTiming:
    """Tracks on the parts of a topology, with their delays."""

    machine: Machine
    planned: TracksPlan
    topology: Topology
    effort: Effort
    kinds: tuple[TimedKind, ...]
    tracks: tuple[Track, ...]

    @cached_property
    def bound_us(self) -> int:
        """No cadence is shorter, however the ticks are made: what the slowest move takes alone."""
        moving = Moving(Topology(self.machine), self.effort.schedule_nodes)
        moves = [
            moving.move(move, one)
            for kind in self.planned.kinds
            for move, one in kind.moves.items()
            if move[0] is not None
        ]
        bounds = (max(move.load.bound_us, move.change.bound_us) for move in moves)
        return min(max(bounds, default=1), self.period_us)

    @property
    def apart_us(self) -> int:
        """How far the changes of one tick start apart, at most."""
        starts = [track.change_us for track in self.tracks if track.copy.rotation]
        return max(starts) - min(starts)

    @cached_property
    def period_us(self) -> int:
        """The shortest cadence at which all tables end within their tick."""
        ends = (
            at_us + stretch.quiet_us
            for track in self.tracks
            for move in track.copy.moves
            for at_us, stretch, _ in _tables(track, move, move if move[0] else None)
        )
        return max(1, max(ends, default=0) + self._lead_us)

    @property
    def _lead_us(self) -> int:
        return self.topology.durations.lead_us

    @cached_property
    def _ticks(self) -> dict[tuple[Row, Row], Tick]:
        """The different ticks by what changes and what is loaded."""
        round_ = self.planned.round
        rows = dict.fromkeys(zip(round_.changes, round_.loads, strict=True))
        rows[round_.firsts, round_.loads[0]] = None
        return {row: self._tick(*row) for row in rows}

    def timing(self) -> ProgrammeTiming:
        """The same as the ticks of a programme."""
        plan, round_ = self.planned.plan, self.planned.round
        assert plan.again is not None
        first = self._ticks[round_.firsts, round_.loads[0]]
        later = [self._ticks[rows] for rows in zip(round_.changes, round_.loads, strict=True)]
        loads: list[FramePlan | None] = [*plan.plans[1:], plan.again]
        return ProgrammeTiming(
            self.machine,
            plan,
            self.effort,
            (*plan.plans, plan.again),
            (*loads, loads[0]),
            (first, *later[1:], later[0]),
            1,
            self.period_us,
            self.bound_us,
            self.planned.programme.every_us,
            self.period_us,
            self._lead_us,
        )

    def _tick(self, changes: Row, loads: Row) -> Tick:
        """One tick: what its tracks do, each after its delay."""
        rows = zip(self.tracks, self._translations, changes, loads, strict=True)
        running = [
            (said, *table) for track, said, *moves in rows for table in _tables(track, *moves)
        ]
        if not running:
            return Tick((), 0, 0, 0, None, (), 0)
        pulses = [
            pulse.later(at_us)
            for said, at_us, stretch, _ in running
            for pulse in said.pulses(stretch.pulses, self.topology.machine)
        ]
        quiet_us = max(at_us + stretch.quiet_us for _, at_us, stretch, _ in running)
        seen = [at_us + stretch.reached_us for _, at_us, stretch, shows in running if shows]
        said, at_us, last, _ = max(running, key=lambda one: one[1] + one[2].quiet_us)
        links = tuple(_links(at_us, last, said))
        ended_us = quiet_us + self._lead_us
        return Tick(in_order(pulses), max(seen, default=0), ended_us, 0, None, links, quiet_us)

    @cached_property
    def _translations(self) -> list[Translation]:
        return [Translation(track.kind.kind.copies[0], track.copy) for track in self.tracks]


def _tables(
    track: Track, change: Move | None, load: Move | None
) -> Iterator[tuple[int, Stretch, bool]]:
    """What a track starts in a tick: when, what, and whether it is a change."""
    if change is not None:
        yield track.change_us, track.kind.moves[change].change, True
    if load is not None:
        yield track.load_us, track.kind.moves[load].load, False


def _links(at_us: int, stretch: Stretch, said: Translation) -> Iterator[Link]:
    """What a tick waits for: the delay of its last track, and what that does."""
    for number, link in enumerate(stretch.links):
        task, after = said.task(link.task), said.task(link.after)
        if not number and at_us:
            yield Link(after, "tick", "delay of its track", 0, at_us)
        yield replace(
            link, task=task, after=after, from_us=link.from_us + at_us, to_us=link.to_us + at_us
        )


def time_tracks(
    machine: Machine, planned: TracksPlan, effort: Effort, topology: Topology | None = None
) -> TracksTiming:
    """Tracks with the delays that the supplies ask for.

    `topology` has the distances that are kept, those that a controller plays well if none is given.
    """
    topology = topology or playable(machine)
    moving = Moving(topology, effort.schedule_nodes)
    kinds = [moving.kind(one.kind, one.moves) for one in planned.kinds]
    tracks = [Track(copy, kinds[number]) for copy, number in planned.copies]
    loads = list(dict.fromkeys(planned.round.loads))
    delayed = Delays(topology).of(tracks, loads)
    return TracksTiming(machine, planned, topology, effort, tuple(kinds), delayed)
