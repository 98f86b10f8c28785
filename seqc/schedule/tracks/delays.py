"""When the tables of each track start after a tick, so that no supply gives more than it may.

Changes are placed first, all of them at one tick, since the time may be set at any moment; then
loads, for each set of them that ever comes in one tick. Each starts as early as it fits beside
those placed before it: a sound choice, not the best there is.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from seqc.machine.electrics import ceil_div
from seqc.schedule.topology import Topology
from seqc.schedule.tracks.currents import Cells, Currents, Together, most
from seqc.schedule.tracks.kinds import Copy
from seqc.schedule.tracks.moving import TimedKind
from seqc.solver.rotations import Move

MOST_SETS = 2_000
"""Where more different sets of loads come together, they are taken to come all in one tick."""

ORDERS = 8
"""So many orders of loads are tried."""

Loads = Sequence[Move | None]
"""For each track the move that it loads in a tick, None where it loads nothing."""

Scene = tuple[Together, Sequence[Currents | None]]
"""What is drawn in one tick so far, and what the load of each track would draw in it."""


@dataclass(frozen=True)
class Track:
    """One grid, and how many microseconds after the others could its tables start.

    `home_us` is for home and the first load.
    """

    copy: Copy
    kind: TimedKind
    home_us: int = 0
    change_us: int = 0
    load_us: int = 0


class Delays:
    """Finds the delays of tracks on one machine."""

    def __init__(self, topology: Topology) -> None:
        self._cells = Cells.of(topology)

    def of(self, tracks: Sequence[Track], loads: Sequence[Loads]) -> tuple[Track, ...]:
        """The tracks with their delays; `loads` are the different sets that come in one tick.

        What ends last in one order of loads is placed first in the next, a few times.
        """
        changing = self._together()
        changed = self._changed(self._homed(tracks), changing)
        drawn = self._drawn(changed, loads)
        order = list(range(len(changed)))
        best: list[Track] = []
        for _ in range(ORDERS):
            found = self._in_order(order, changed, changing, drawn)
            last = max(order, key=lambda number: _end_us(found[number]))
            if not best or _end_us(found[last]) < max(map(_end_us, best)):
                best = found
            if last == order[0]:
                break
            order.remove(last)
            order.insert(0, last)
        return tuple(best)

    def _in_order(
        self,
        order: Iterable[int],
        changed: Sequence[Track],
        changing: Together,
        drawn: Iterable[Sequence[Currents | None]],
    ) -> list[Track]:
        """With loads placed one after the other in some order, beside all changes."""
        scenes = [(changing.copy(), row) for row in drawn]
        found = list(changed)
        for number in order:
            found[number] = self._loaded(found[number], number, scenes)
        return found

    def _homed(self, tracks: Iterable[Track]) -> list[Track]:
        """With delays for home and the first load, the glyphs of which may be any."""
        homing, loading = self._together(), self._together()
        found = []
        for track in tracks:
            moves = track.kind.moves
            first = (moves[move].load.pulses for move in track.copy.moves if move[0] is None)
            own = [
                (homing, self._cells.drawn(track.kind.home.pulses)),
                (loading, most(map(self._cells.drawn, first))),
            ]
            found.append(replace(track, home_us=self._place(own, 0)))
        return found

    def _changed(self, tracks: Iterable[Track], changing: Together) -> list[Track]:
        """With delays for changes."""
        found = []
        for track in tracks:
            changes = (track.kind.moves[move].change.pulses for move in track.copy.moves)
            own = [(changing, most(map(self._cells.drawn, changes)))]
            found.append(replace(track, change_us=self._place(own, 0)))
        return found

    def _drawn(
        self, tracks: Sequence[Track], loads: Sequence[Loads]
    ) -> list[list[Currents | None]]:
        """What the loads of all ticks that differ draw, track by track."""
        drawn = [
            {
                move: self._cells.drawn(timed.load.pulses)
                for move, timed in track.kind.moves.items()
                if move[0] is not None
            }
            for track in tracks
        ]
        if len(loads) <= MOST_SETS:
            return [[m and own[m] for own, m in zip(drawn, row, strict=True)] for row in loads]
        return [[most(own.values()) for own in drawn]]

    def _loaded(self, track: Track, number: int, scenes: Iterable[Scene]) -> Track:
        """With a delay for its loads, which wait for its own change."""
        own = [(scene, currents) for scene, row in scenes if (currents := row[number])]
        first_us = max(0, track.change_us + track.kind.wait_us)
        return replace(track, load_us=self._place(own, ceil_div(first_us, self._cells.length_us)))

    def _together(self) -> Together:
        return Together(self._cells.capacities_ua)

    def _place(self, own: Sequence[tuple[Together, Currents]], cell: int) -> int:
        """Place a table in every scene at the first cell at which it fits in all; when that is."""
        while (later := max((scene.earliest(c, cell) for scene, c in own), default=cell)) > cell:
            cell = later
        for scene, each in own:
            scene.place(each, cell)
        return cell * self._cells.length_us


def _end_us(track: Track) -> int:
    """When the longest load of a track ends."""
    loads = (track.kind.moves[move].load.quiet_us for move in track.copy.moves if move[0])
    return track.load_us + max(loads, default=0)
