"""Runs of frames built by hand, so that forecasts are tested without solver and scheduler."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from seqc.forecast.usage import Draw, FrameUse, Run
from seqc.machine.model import Machine

SECOND_US = 1_000_000
HOUR_US = 3_600 * SECOND_US
DAY_US = 24 * HOUR_US


def drawn(kinds: Sequence[str | None], grid: str = "numeral") -> FrameUse:
    """A frame that draws these kinds in the cells of one grid and is without pulses."""
    return FrameUse({}, {}, (Draw(grid, tuple(kinds)),) if any(kinds) else ())


def run_of(
    rows: Sequence[Sequence[str | None]], repeat_from: int | None = None, every_us: int = SECOND_US
) -> Run:
    """A run that draws one row of kinds a frame."""
    return Run(tuple(drawn(row) for row in rows), every_us, repeat_from)


def endless_frames(run: Run, count: int) -> list[FrameUse]:
    """The first frames one by one, the plain way."""
    frames = list(run.frames)
    while run.repeat_from is not None and len(frames) < count:
        frames += run.frames[run.repeat_from :]
    return frames[:count]


def stocked(
    machine: Machine,
    stocks: Sequence[int | None],
    recirculate_us: int | None = None,
) -> Machine:
    """The machine with these stocks, kind by kind."""
    items = tuple(
        replace(item, stock=stock, recirculate_us=recirculate_us)
        for item, stock in zip(machine.items, stocks, strict=True)
    )
    return replace(machine, items=items)
