"""The plans of a whole font in one call, on every core, one result a glyph.

What goes to a worker is the machine without its fonts, as bytes that it unpacks once, and the kinds
of some glyphs; what comes back are bit sets. No more than `AHEAD` pieces of work are under way at a
time, so that memory stays the same however large the font is.
"""

from __future__ import annotations

import pickle
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Executor, Future
from contextlib import nullcontext
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from itertools import islice

from seqc.machine.effort import NORMAL
from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.machine.workers import workers
from seqc.solver.budget import budget
from seqc.solver.frames import changed_needs, grid_plan
from seqc.solver.load_time.load_timer import LoadTimer
from seqc.solver.load_time_search import LoadTimeSearch
from seqc.solver.loading import Loading, best_loading, passes_in
from seqc.solver.needs import LaneNeeds, OutOfReachError, needs_of
from seqc.solver.objective import Objective
from seqc.solver.plan import FramePlan, GridPlan
from seqc.solver.positions import UNKNOWN, Positions

PIECE = 128
TIMED_PIECE = 4
"""Fewer glyphs a piece where each is put into time, which takes some hundred times as long."""
AHEAD = 32

Progress = Callable[[int], object]
"""Told, after each piece of work, how many glyphs have been planned so far."""


@dataclass(frozen=True, slots=True)
class LoadTimeOptions:
    """How load time counts: what makes the clock of a machine, and whether it comes first."""

    clock: Callable[[Machine], LoadTimer]
    objective: Objective = Objective.LOAD_TIME


_Piece = tuple[bytes, str, tuple[tuple[str, ...], ...], Positions, LoadTimeOptions | None]


@dataclass(frozen=True, slots=True)
class _Answer:
    """The passes of one glyph, and their load time with its bound where that counts."""

    loading: Loading
    load_us: int | None = None
    load_bound_us: int | None = None


@dataclass(frozen=True, slots=True)
class GlyphResult:
    """The plan of one glyph from the given start; none where it is out of reach."""

    glyph: Glyph
    plan: FramePlan | None


def plan_font(
    machine: Machine,
    glyphs: Iterable[Glyph],
    start: Positions = UNKNOWN,
    *,
    times: LoadTimeOptions | None = None,
    executor: Executor | None = None,
    progress: Progress | None = None,
) -> Iterator[GlyphResult]:
    """One result for each glyph, in order; all glyphs are for one grid, loaded whole from `start`.

    Without `times` the pulses alone count after the passes. Any executor of `concurrent.futures`
    serves, a cluster's too; without one a process for each core is used, or none where there is
    only one piece of work.
    """
    waiting = iter(glyphs)
    size = TIMED_PIECE if times else PIECE
    first = list(islice(waiting, size))
    if len(first) == size or executor is not None:
        pieces = _pieces(first, waiting, size)
        with nullcontext(executor) if executor else workers() as hands:
            yield from _spread(machine, pieces, start, times, hands, progress)
    else:
        answers = _Planner(machine, start, times).planned(first)
        yield from _results(machine, first, answers, start, times)
        if progress:
            progress(len(first))


def _pieces(piece: list[Glyph], waiting: Iterator[Glyph], size: int) -> Iterator[list[Glyph]]:
    while piece:
        yield piece
        piece = list(islice(waiting, size))


def _spread(
    machine: Machine,
    pieces: Iterator[list[Glyph]],
    start: Positions,
    times: LoadTimeOptions | None,
    executor: Executor,
    progress: Progress | None,
) -> Iterator[GlyphResult]:
    """Hand out the pieces, a number of them ahead, and take the answers back in order."""
    packed = pickle.dumps(replace(machine, fonts=(), programmes=()))
    pending: deque[tuple[list[Glyph], Future[list[_Answer | None]]]] = deque()
    done = 0
    try:
        while True:
            for piece in islice(pieces, AHEAD - len(pending)):
                kinds = tuple(glyph.kinds for glyph in piece)
                work = (packed, piece[0].grid, kinds, start, times)
                pending.append((piece, executor.submit(_planned, work)))
            if not pending:
                return
            piece, answer = pending.popleft()
            yield from _results(machine, piece, answer.result(), start, times)
            done += len(piece)
            if progress:
                progress(done)
    finally:
        for _, answer in pending:
            answer.cancel()


def _results(
    machine: Machine,
    piece: Sequence[Glyph],
    answers: Sequence[_Answer | None],
    start: Positions,
    times: LoadTimeOptions | None,
) -> Iterator[GlyphResult]:
    for glyph, answer in zip(piece, answers, strict=True):
        if answer is None:
            yield GlyphResult(glyph, None)
            continue
        plan = _whole(needs_of(machine, glyph.grid), glyph, answer.loading, start)
        if times:
            plan = replace(
                plan,
                objective=times.objective,
                load_us=answer.load_us,
                load_bound_us=answer.load_bound_us,
            )
        yield GlyphResult(glyph, FramePlan(Frame((glyph,)), (plan,)))


def _whole(lane: LaneNeeds, glyph: Glyph, loading: Loading, start: Positions) -> GridPlan:
    """The plan that loads all of a grid in the passes of a loading."""
    own = start.within(lane.selector_mask)
    return grid_plan(lane, glyph, lane.ties.changed(glyph, None), loading, own)


@dataclass(frozen=True)
class _Planner:
    """Plans the glyphs of one machine; with one clock, so that loads alike are timed once."""

    machine: Machine
    start: Positions
    times: LoadTimeOptions | None

    @cached_property
    def _clock(self) -> LoadTimer | None:
        return self.times.clock(self.machine) if self.times else None

    def planned(self, glyphs: Iterable[Glyph]) -> list[_Answer | None]:
        """An answer for each glyph, None where it is out of reach."""
        return [self._planned(glyph) for glyph in glyphs]

    def _planned(self, glyph: Glyph) -> _Answer | None:
        lane = needs_of(self.machine, glyph.grid)
        try:
            needs = changed_needs(lane, glyph, lane.ties.changed(glyph, None))
        except OutOfReachError:
            return None
        work = budget(self.machine, NORMAL)
        loading = best_loading(needs, work, self.start.within(lane.selector_mask))
        if self._clock is None or self.times is None:
            return _Answer(loading)
        plan = _whole(lane, glyph, loading, self.start)
        best = LoadTimeSearch(lane, plan, self._clock, work).best(UNKNOWN, self.times.objective)
        pulses_bound = best.pulses_bound - best.gate_pulses
        timed = Loading(tuple(passes_in(best)), best.end, best.passes_bound, pulses_bound)
        return _Answer(timed, best.load_us, best.load_bound_us)


@lru_cache(maxsize=1)
def _unpacked(packed: bytes, start: Positions, times: LoadTimeOptions | None) -> _Planner:
    return _Planner(pickle.loads(packed), start, times)


def _planned(work: _Piece) -> list[_Answer | None]:
    """The work of one piece, wherever it is done."""
    packed, grid, several, start, times = work
    return _unpacked(packed, start, times).planned(Glyph("", "", grid, kinds) for kinds in several)
