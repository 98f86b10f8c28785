"""How long the forecast of a clock's day takes: six numerals, 86,400 frames.

Run with `pytest tests/bench/test_forecast_day.py`.
"""

import random

from boards import board, grid_of
from forecast_runs import DAY_US
from pytest_benchmark.fixture import BenchmarkFixture

from seqc.forecast.result import Forecast, forecast
from seqc.forecast.usage import FrameUse, Run, frame_use
from seqc.machine.clock import clock_programme
from seqc.machine.glyphs import Font, Frame, Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Position

SEED = 4
GRIDS = [grid_of(6, 4, name=f"clock_{number}") for number in range(1, 7)]


def faces() -> list[Font]:
    """Ten random numerals for each grid, alike in all."""
    chance = random.Random(SEED)
    kinds = {digit: tuple(chance.choices(("slate", "chalk"), k=24)) for digit in "0123456789"}
    return [
        Font("faces", grid, tuple(Glyph(d, "faces", grid.name, kinds[d]) for d in kinds))
        for grid in GRIDS
    ]


def day(machine: Machine, fonts: list[Font]) -> Run:
    """Each tick renews the numerals that change: every gate cycles and every selector moves."""
    known: dict[Frame, FrameUse] = {}
    uses: list[FrameUse] = []
    before: Frame | None = None
    for frame in clock_programme("day", fonts).frames:
        kept = set(before) if before else set()
        changed = Frame(tuple(glyph for glyph in frame if glyph not in kept))
        if changed not in known:
            names = {glyph.grid for glyph in changed}
            moved = [actuator for actuator in machine.actuators if actuator.grid.name in names]
            moves = [(actuator, position) for actuator in moved for position in Position]
            known[changed] = frame_use(machine, changed, moves, ())
        uses.append(known[changed])
        before = frame
    return Run(tuple(uses), 1_000_000, 0)


def test_forecast_of_a_day(benchmark: BenchmarkFixture) -> None:
    machine = board(GRIDS, stock=200_000)
    run = day(machine, faces())
    result: Forecast = benchmark.pedantic(  # type: ignore[no-untyped-call]
        forecast, args=(machine, "day", run, DAY_US), rounds=1, iterations=1
    )
    # Every numeral of seconds is drawn 86,400 or 8,640 times, of minutes 1,440 or 144.
    changes = 86_400 + 8_640 + 1_440 + 144 + 24 + 3
    kinds = sum(kind.drawn for kind in result.stocks)
    assert abs(kinds - 24 * changes) <= 6 * 24
