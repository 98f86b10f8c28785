"""Items that come back: how many of a kind are out of a magazine at one time.

An item is out from the frame that draws it until it is back in its magazine: it is seen until its
cell draws the next one, and then on its way back for the return time. The most that are ever out
is the least that a magazine needs to run without end. Frames are counted from 0.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from seqc.forecast.usage import Draw, Magazine, Run
from seqc.machine.electrics import ceil_div
from seqc.machine.model import Machine


@dataclass(frozen=True)
class Rhythm:
    """Draws of one grid: frames that come once, then the shortest cycle that they repeat."""

    intro: tuple[Draw | None, ...]
    cycle: tuple[Draw | None, ...]

    def frames(self, horizon: int) -> Iterator[tuple[int, Draw]]:
        """The frames before the horizon that draw anything, in order."""
        firsts = [(frame, draw) for frame, draw in enumerate(self.intro) if draw]
        yield from ((frame, draw) for frame, draw in firsts if frame < horizon)
        again = [(frame, draw) for frame, draw in enumerate(self.cycle) if draw]
        for start in range(len(self.intro), horizon if again else 0, len(self.cycle) or 1):
            yield from ((start + rank, draw) for rank, draw in again if start + rank < horizon)


def rises(
    machine: Machine, run: Run, recirculate_us: Mapping[str, int]
) -> dict[Magazine, list[int]]:
    """For each magazine the frames at which more of its items are out than ever before.

    So the length of a list is the least stock of that magazine for running without end, when each
    item is back in the magazine that it came from `recirculate_us` (by kind) after it has left its
    cell.
    """
    found: dict[Magazine, list[int]] = {}
    for lane in machine.lanes:
        rhythm = _rhythm(run, lane.grid.name)
        for item in lane.items:
            # The item waits behind a transfer gate for one frame before it is seen.
            delay = ceil_div(recirculate_us[item.name], run.every_us) + bool(lane.transfers)
            # Beyond its longest time out after the intro, a cycle is like the one before it.
            horizon = len(rhythm.intro) + 2 * len(rhythm.cycle) + delay
            frames = list(rhythm.frames(horizon))
            for cell in lane.cells_with(item):
                rank = lane.grid.index_of[cell]
                own = [(frame, kind) for frame, draw in frames if (kind := draw.kinds[rank])]
                magazine = Magazine(lane.grid.name, cell, item.name)
                found[magazine] = _records(own, item.name, max(1, delay))
    return found


def _records(own: list[tuple[int, str]], kind: str, back: int) -> list[int]:
    """The frames at which one magazine has more items out than ever before."""
    returning = [later + back for (_, gone), (later, _) in pairwise(own) if gone == kind]
    records: list[int] = []
    out = returned = 0
    for frame, drawn in own:
        if drawn != kind:
            continue
        out += 1
        while returned < len(returning) and returning[returned] <= frame:
            returned += 1
        if out - returned > len(records):
            records.append(frame)
    return records


def _rhythm(run: Run, grid: str) -> Rhythm:
    intro = tuple(_draw_of(use.draws, grid) for use in run.intro)
    cycle = tuple(_draw_of(use.draws, grid) for use in run.cycle)
    return Rhythm(intro, cycle[: shortest_period(cycle)])


def _draw_of(draws: Sequence[Draw], grid: str) -> Draw | None:
    return next((draw for draw in draws if draw.grid == grid), None)


def shortest_period(cycle: Sequence[object]) -> int:
    """The shortest stretch that, repeated, gives the whole cycle: by the longest border.

    Knuth, Morris and Pratt's failure function: O(n).
    """
    border = [0] * len(cycle)
    length = 0
    for end in range(1, len(cycle)):
        while length and cycle[end] != cycle[length]:
            length = border[length - 1]
        length += cycle[end] == cycle[length]
        border[end] = length
    period = len(cycle) - (border[-1] if cycle else 0)
    return period if period and len(cycle) % period == 0 else len(cycle)
