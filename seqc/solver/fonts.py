"""The plans of a whole font in one call, on every core, one result a glyph.

What goes to a worker is the machine without its fonts, as bytes that it unpacks once, and the kinds
of some glyphs; what comes back are bit sets. No more than `AHEAD` pieces of work are under way at a
time, so that memory stays the same however large the font is.
"""

from __future__ import annotations

import os
import pickle
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import islice

from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.solver.frames import changed_needs, grid_plan
from seqc.solver.loading import Loading, best_loading
from seqc.solver.needs import OutOfReachError, needs_of
from seqc.solver.plan import FramePlan
from seqc.solver.positions import UNKNOWN, Positions

PIECE = 128
AHEAD = 32

Progress = Callable[[int], object]
"""Told, after each piece of work, how many glyphs have been planned so far."""

_Work = tuple[bytes, str, tuple[tuple[str, ...], ...], Positions]


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
    executor: Executor | None = None,
    progress: Progress | None = None,
) -> Iterator[GlyphResult]:
    """One result for each glyph, in order; all glyphs are for one grid, loaded whole from `start`.

    Any executor of `concurrent.futures` serves, a cluster's too; without one a process for each
    core is used, or none where there is only one piece of work.
    """
    waiting = iter(glyphs)
    first = list(islice(waiting, PIECE))
    if executor is not None or len(first) == PIECE:
        pieces = _pieces(first, waiting)
        yield from _spread(machine, pieces, start, executor, progress)
    else:
        yield from _results(machine, first, _planned_here(machine, first, start), start)
        if progress:
            progress(len(first))


def _pieces(piece: list[Glyph], waiting: Iterator[Glyph]) -> Iterator[list[Glyph]]:
    while piece:
        yield piece
        piece = list(islice(waiting, PIECE))


def _spread(
    machine: Machine,
    pieces: Iterator[list[Glyph]],
    start: Positions,
    executor: Executor | None,
    progress: Progress | None,
) -> Iterator[GlyphResult]:
    """Hand out the pieces, a number of them ahead, and take the answers back in order."""
    own = executor or ProcessPoolExecutor(os.cpu_count())
    packed = pickle.dumps(replace(machine, fonts=(), programmes=()))
    pending: deque[tuple[list[Glyph], Future[list[Loading | None]]]] = deque()
    done = 0
    try:
        while True:
            for piece in islice(pieces, AHEAD - len(pending)):
                kinds = tuple(glyph.kinds for glyph in piece)
                work = (packed, piece[0].grid, kinds, start)
                pending.append((piece, own.submit(_planned, work)))
            if not pending:
                return
            piece, answer = pending.popleft()
            yield from _results(machine, piece, answer.result(), start)
            done += len(piece)
            if progress:
                progress(done)
    finally:
        for _, answer in pending:
            answer.cancel()
        if executor is None:
            own.shutdown()


def _results(
    machine: Machine, piece: Sequence[Glyph], loadings: Sequence[Loading | None], start: Positions
) -> Iterator[GlyphResult]:
    for glyph, loading in zip(piece, loadings, strict=True):
        if loading is None:
            yield GlyphResult(glyph, None)
        else:
            lane = needs_of(machine, glyph.grid)
            own = start.within(lane.selector_mask)
            every = lane.ties.changed(glyph, None)
            plan = grid_plan(lane, glyph, every, loading, own)
            yield GlyphResult(glyph, FramePlan(Frame((glyph,)), (plan,)))


@lru_cache(maxsize=1)
def _unpacked(packed: bytes) -> Machine:
    machine: Machine = pickle.loads(packed)
    return machine


def _planned(work: _Work) -> list[Loading | None]:
    """The work of one piece, wherever it is done."""
    packed, grid, several, start = work
    glyphs = [Glyph("", "", grid, kinds) for kinds in several]
    return _planned_here(_unpacked(packed), glyphs, start)


def _planned_here(
    machine: Machine, glyphs: Sequence[Glyph], start: Positions
) -> list[Loading | None]:
    loadings: list[Loading | None] = []
    for glyph in glyphs:
        lane = needs_of(machine, glyph.grid)
        own = start.within(lane.selector_mask)
        try:
            needs = changed_needs(lane, glyph, lane.ties.changed(glyph, None))
        except OutOfReachError:
            loadings.append(None)
        else:
            loadings.append(best_loading(needs, own))
    return loadings
