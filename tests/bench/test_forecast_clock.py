"""How long a day of the harbour clock takes: read, planned, scheduled, laid out and replayed.

86,400 frames on six numerals, to be done in at most 60 s on two cores; and the forecast of that
day. Run with `pytest tests/bench/test_forecast_clock.py`.
"""

from __future__ import annotations

from pathlib import Path

from examples_on_disk import machine_file
from forecast_runs import DAY_US
from pytest_benchmark.fixture import BenchmarkFixture

import seqc
from seqc.machine.findings import Findings

FRAMES = 86_400


def whole_day(path: Path) -> int:
    """Go the whole way, and count the faults that the simulator finds."""
    machine = seqc.read(path, Findings())
    planned = seqc.plan(machine, machine.programmes[0])
    assert planned.timing.kept
    assert len(planned.programme.frames) == FRAMES
    tables = seqc.every_tick(seqc.laid_out(machine, planned))
    return len(seqc.replay(machine, tables, planned.programme).faults)


def test_a_day_of_the_clock(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    path = machine_file("harbour_clock", tmp_path)
    faults: int = benchmark.pedantic(whole_day, (path,), rounds=1)  # type: ignore[no-untyped-call]
    assert faults == 0


def test_the_forecast_of_a_day(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    machine = seqc.read(machine_file("harbour_clock", tmp_path), Findings())
    planned = seqc.plan(machine, machine.programmes[0])
    result = benchmark.pedantic(  # type: ignore[no-untyped-call]
        seqc.foresee, (machine, planned, DAY_US, 40.0), rounds=1
    )
    assert result.tally.frames == FRAMES
    assert result.findings == ()
