"""Tracks: grids that change independently of each other, played side by side in one build.

A clock's numerals, or a clock and a colon that blinks: written tick by tick they would fill a
controller many times over. So a build holds the tables of each kind of grid once, by the outputs
of one grid, and each track starts those that are due at fixed delays after the tick. What comes of
it is an ordinary step table for each tick, which `TrackSet` merges in the way a player does.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from seqc.machine.steptable import Step, StepTable, TableSet, TablesFor

NOTHING = ""
"""The name of the one glyph of a grid that shows nothing."""

Placed = tuple[StepTable, int, "Track"]


@dataclass(frozen=True, slots=True)
class Move:
    """From glyph `before`, None where the grid has just come home, to glyph `after`.

    `load` brings the items, `change` shows them. Names of glyphs are those of the grid's font. In
    tables of a grid bit n of a word is 1 while output n of the grid is active.
    """

    before: str | None
    after: str
    load: StepTable
    change: StepTable


@dataclass(frozen=True, slots=True)
class GridTables:
    """All tables of one kind of grid, whose copies share them; `width` outputs each."""

    width: int
    home: StepTable
    moves: tuple[Move, ...]

    def move(self, before: str | None, after: str) -> Move:
        """The move between two glyphs; raises KeyError where the build has none."""
        for move in self.moves:
            if (move.before, move.after) == (before, after):
                return move
        raise KeyError((before, after))


@dataclass(frozen=True, slots=True)
class Track:
    """One grid: a new frame of `shows` every `every` ticks, round and round.

    `outputs` are the machine's outputs by those of the grid. At home and in the first load, and at
    a tick that loads or changes, its table starts so many microseconds after the others could.
    While `quiet` it stands still, see `TrackSet.quiet`. A grid that is no more than brought home
    shows `NOTHING`.
    """

    grid: str
    kind: int
    outputs: tuple[int, ...]
    every: int
    shows: tuple[str, ...]
    home_us: int
    load_us: int
    change_us: int
    quiet: bool = False

    @property
    def round_ticks(self) -> int:
        """After so many ticks it shows the same again."""
        return self.every * len(self.shows)

    def shown(self, tick: int) -> str:
        """The glyph that is seen from a tick on."""
        return self.shows[tick // self.every % len(self.shows)]


@dataclass(frozen=True, slots=True)
class Quiet:
    """From tick `start` until tick `end`, round the end of the day if `end` is less.

    Quiet tracks go on showing what they show at `start`.
    """

    start: int
    end: int

    def __contains__(self, tick: int) -> bool:
        if self.start <= self.end:
            return self.start <= tick < self.end
        return tick >= self.start or tick < self.end


@dataclass(frozen=True)
class TrackSet:
    """All tables of a build that is played by tracks.

    A tick comes every `tick_us`; tick 0 is midnight for a clock. At tick n each track whose frame
    is another than at n - 1 changes, and each whose frame will be another at n + 1 loads it; all
    outputs are idle when the tick ends. Before that come `home`, `home_length_us` long, and a
    table that loads the frames of the first tick, `first_length_us` long. `slack_us` and
    `spare_us` are those of a `TableSet`. `is_clock` says that a tick tells the time of day.
    """

    machine: str
    width: int
    idle_word: int
    slack_us: int
    tick_us: int
    home_length_us: int
    first_length_us: int
    spare_us: int
    kinds: tuple[GridTables, ...]
    tracks: tuple[Track, ...]
    is_clock: bool = False
    quiet: Quiet | None = None

    @cached_property
    def ticks(self) -> int:
        """After so many ticks all is as it was."""
        return math.lcm(*(track.round_ticks for track in self.tracks))

    def shown(self, track: Track, tick: int) -> str:
        """The glyph that a track shows from a tick on."""
        tick %= self.ticks
        if track.quiet and self.quiet and tick in self.quiet:
            tick = self.quiet.start
        return track.shown(tick)

    @property
    def home(self) -> StepTable:
        """What brings every part to rest after power-on."""
        placed = [(self.kinds[track.kind].home, track.home_us, track) for track in self.tracks]
        return self._merged("home", placed, self.home_length_us)

    def first(self, tick: int) -> StepTable:
        """What loads, after home, the frames that are to be seen from a tick on."""
        placed = [
            (self.kinds[track.kind].move(None, self.shown(track, tick)).load, track.home_us, track)
            for track in self.tracks
        ]
        return self._merged("first load", placed, self.first_length_us)

    def tick(self, tick: int, first: bool = False) -> StepTable:
        """What a tick does; after the `first` load every track changes."""
        placed: list[Placed] = []
        for track in self.tracks:
            tables = self.kinds[track.kind]
            before, seen, coming = (self.shown(track, tick + step) for step in (-1, 0, 1))
            if first or before != seen:
                move = tables.move(None if first else before, seen)
                placed.append((move.change, track.change_us, track))
            if seen != coming:
                placed.append((tables.move(seen, coming).load, track.load_us, track))
        shown = ((track.grid, self.shown(track, tick)) for track in self.tracks)
        shows = tuple((grid, glyph) for grid, glyph in shown if glyph != NOTHING)
        return self._merged(f"tick {tick % self.ticks}", placed, self.tick_us, shows)

    def _merged(
        self,
        name: str,
        placed: Iterable[Placed],
        length_us: int,
        shows: tuple[tuple[str, str], ...] = (),
    ) -> StepTable:
        """The tables as one: each output is active where any of them has it active."""
        given = tuple(placed)
        key = tuple((id(table), track.grid, delay) for table, delay, track in given)
        if key not in self._known:
            self._known[key] = self._steps(given)
        return StepTable(name, self._known[key], length_us, shows)

    @cached_property
    def _known(self) -> dict[tuple[tuple[int, str, int], ...], tuple[Step, ...]]:
        """The steps of tables that were merged before: a day has few that differ."""
        return {}

    def _steps(self, placed: Iterable[Placed]) -> tuple[Step, ...]:
        toggles: dict[int, int] = {0: 0}
        for table, delay_us, track in placed:
            for at_us, mask in _toggles(table):
                at = at_us + delay_us
                toggles[at] = toggles.get(at, 0) ^ _spread(mask, track.outputs)
        steps: list[Step] = []
        word = self.idle_word
        for at, mask in sorted(toggles.items()):
            word ^= mask
            if mask or not steps:
                steps.append(Step(at, word))
        return tuple(steps)


Tables = TableSet | TrackSet
"""What a build holds."""


def merged(tracks: TrackSet) -> TableSet:
    """The tables that come of tracks, from the first load through a whole round to its first tick.

    The second tick comes after the last table.
    """
    ticks = tracks.ticks
    return TableSet(
        tracks.machine,
        TablesFor.PROGRAMME,
        tracks.width,
        tracks.idle_word,
        tracks.slack_us,
        tracks.home,
        (tracks.first(0), tracks.tick(0, first=True), *map(tracks.tick, range(1, ticks + 1))),
        2,
        tracks.spare_us,
    )


def _toggles(table: StepTable) -> Iterator[tuple[int, int]]:
    """When which outputs of a grid change; all are inactive before the table and after it."""
    before = 0
    for step in table.steps:
        yield step.at_us, step.word ^ before
        before = step.word
    yield table.length_us, before


def _spread(mask: int, outputs: tuple[int, ...]) -> int:
    """Outputs of a grid as outputs of the machine."""
    return sum(1 << output for bit, output in enumerate(outputs) if mask >> bit & 1)
