"""The frames of one grid planned jointly: where one frame ends is where the next one starts.

Each frame can end in the positions of any of its last passes. The choice over all frames is a
shortest path (for a repeating programme the shortest round) through those positions. Of two ways to
come to a frame's end, one is dropped if moving on from it to the other's positions costs no more.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from seqc.machine.glyphs import Glyph
from seqc.solver.frames import changed_needs, grid_plan
from seqc.solver.loading import Loading, best_loading
from seqc.solver.needs import LaneNeeds, Need
from seqc.solver.order import EndError
from seqc.solver.plan import PULSES_PER_CYCLE, GridPlan
from seqc.solver.positions import UNKNOWN, Positions
from seqc.solver.ways import complete

MOST_ENDS = 16
LONG_ROUND = 1_000


@dataclass(frozen=True, slots=True)
class Show:
    """One glyph to be shown after another, or after nothing that is known."""

    glyph: Glyph
    shown: Glyph | None


@dataclass(frozen=True)
class Step:
    """How one glyph is loaded: which sets of cells, and in which passes."""

    lane: LaneNeeds
    show: Show
    sets: frozenset[int]
    start: Positions
    loading: Loading

    @cached_property
    def pulses(self) -> int:
        """Pulses of the load; those of the gates after it are the same for every load."""
        return sum(
            each.pulsed.bit_count() + PULSES_PER_CYCLE * len(each.operated)
            for each in self.loading.passes
        )

    @cached_property
    def plan(self) -> GridPlan:
        """The step as the plan of the grid."""
        return grid_plan(self.lane, self.show.glyph, self.sets, self.loading, self.start)


@dataclass(frozen=True, slots=True)
class _Way:
    """The way to a frame's end: its pulses, the last step, and the way before it."""

    pulses: int
    end: Positions
    step: Step | None = None
    before: _Way | None = None

    def steps(self) -> list[Step]:
        found = []
        way: _Way | None = self
        while way is not None and way.step is not None:
            found.append(way.step)
            way = way.before
        return found[::-1]

    def then(self, step: Step) -> _Way:
        return _Way(self.pulses + step.pulses, step.loading.end, step, self)


@dataclass
class JointSearch:
    """The search for one grid."""

    lane: LaneNeeds
    exact: bool = True
    """Whether every frame seen so far has all its best ends among those that were tried."""
    _steps: dict[tuple[int, int, Positions], list[Step]] = field(default_factory=dict)

    def line(self, shows: Sequence[Show], start: Positions) -> list[Step]:
        """The steps with the fewest pulses in all, one after the other from the start."""
        ways = self._through(shows, [_Way(0, start)])
        return min(ways, key=lambda way: way.pulses).steps()

    def round(self, shows: Sequence[Show], start: Positions) -> list[Step]:
        """The same for a round: `shows` has the first glyph, after the last one, at its end again.

        The pulses of a round count first, then those of the first load from the start.
        """
        best: tuple[int, int] | None = None
        found: list[Step] = []
        for first in self._firsts(shows, _Way(0, start)):
            for way in self._closed(shows, first):
                rank = (way.pulses - first.pulses, first.pulses)
                if best is None or rank < best:
                    best, found = rank, way.steps()
        return found

    def _firsts(self, shows: Sequence[Show], start: _Way) -> list[_Way]:
        """The ends of the first load at which a round may close; only the best of a long one."""
        ways = [start.then(step) for step in self._options(shows[0], start.end)]
        by_end = {way.end: way for way in sorted(ways, key=lambda way: -way.pulses)}
        firsts = sorted(by_end.values(), key=lambda way: way.pulses)
        if len(shows) <= LONG_ROUND:
            return firsts
        self.exact = False
        return firsts[:1]

    def _closed(self, shows: Sequence[Show], first: _Way) -> Iterator[_Way]:
        for way in self._through(shows[1:-1], [first]):
            yield way.then(self._closing(shows[-1], way.end, first.end))

    def _closing(self, show: Show, start: Positions, end: Positions) -> Step:
        """The load that ends a round; all of the grid where its changed parts can't bring it about.

        Raises EndError where neither can.
        """
        if show.shown is not None:
            try:
                return self._step(show, start, end)
            except EndError:
                pass
        return self._step(Show(show.glyph, None), start, end)

    def _through(self, shows: Sequence[Show], ways: list[_Way]) -> list[_Way]:
        for show in shows:
            ways = _undominated(
                [way.then(step) for way in ways for step in self._options(show, way.end)]
            )
        return ways

    def _options(self, show: Show, start: Positions) -> list[Step]:
        """The best step from the start to each end that the glyph's last pass can have."""
        key = (id(show.glyph), id(show.shown), start)
        if key not in self._steps:
            ends = dict.fromkeys((UNKNOWN, *self._ends(show)))
            self._steps[key] = list(self._possible(show, start, ends))
        return self._steps[key]

    def _possible(
        self, show: Show, start: Positions, ends: dict[Positions, None]
    ) -> Iterator[Step]:
        for end in ends:
            try:
                yield self._step(show, start, end)
            except EndError:
                continue

    def _ends(self, show: Show) -> list[Positions]:
        needs = list(dict.fromkeys(need.ways for need in self._needs(show)[1].values()))
        self.exact = self.exact and len(needs) <= MOST_ENDS and (not needs or complete(needs))
        ends = [way for ways in needs for way in ways]
        if len(ends) > MOST_ENDS:
            ends = [ways[0] for ways in needs]
        return ends if len(ends) <= MOST_ENDS else []

    def _needs(self, show: Show) -> tuple[frozenset[int], dict[int, Need]]:
        sets = self.lane.ties.changed(show.glyph, show.shown)
        return sets, changed_needs(self.lane, show.glyph, sets)

    def _step(self, show: Show, start: Positions, end: Positions) -> Step:
        sets, needs = self._needs(show)
        return Step(self.lane, show, sets, start, best_loading(needs, start, end))


def _undominated(ways: list[_Way]) -> list[_Way]:
    """The ways from whose ends no other's end is reached as cheaply."""
    if len(ways) == 1:
        return ways
    kept: list[_Way] = []
    for way in sorted(ways, key=lambda way: way.pulses):
        if all(
            other.pulses + other.end.missing(way.end).bit_count() > way.pulses for other in kept
        ):
            kept.append(way)
    return kept
