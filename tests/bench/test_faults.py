"""How long it takes to choose test frames and to diagnose, up to 16 by 16 cells."""

from __future__ import annotations

import time
from pathlib import Path

from boards import board, grid_of
from broken_machines import empty, example, seen_of

from bench.conftest import Record
from bench.figures import table
from seqc.faults import Examiner, FaultKind, find_test_frames, home_of, plain_tables
from seqc.machine.model import Machine


def row_of(name: str, machine: Machine) -> tuple[object, ...]:
    """What is chosen for a machine, and how long choosing and one diagnosis take."""
    clocks = Clocks()
    found = find_test_frames(machine)
    choosing = clocks.read()
    tables = plain_tables(machine, found.telling)
    fault = next(f for group in found.alike for f in group if f.kind is FaultKind.LANE_BLOCKED)
    seen = seen_of(machine, tables, [fault], empty(machine))
    clocks = Clocks()
    examiner = Examiner(machine, home_of(tables))
    for each in tables.tables:
        examiner.play(each)
    suspects = examiner.diagnosed(seen).singles
    telling = clocks.read()
    assert any((fault,) in suspect.causes for suspect in suspects)
    return (
        name,
        len(machine.actuators),
        sum(map(len, found.alike)) + len(found.hidden),
        f"{len(found.revealing)} ({found.least_revealing})",
        f"{len(found.telling)} ({found.least_telling})",
        len(found.alike),
        choosing,
        telling,
    )


class Clocks:
    """Seconds on the wall and of the processor since it was made."""

    def __init__(self) -> None:
        self.wall, self.processor = time.perf_counter(), time.process_time()

    def read(self) -> str:
        wall, processor = time.perf_counter(), time.process_time()
        return f"{wall - self.wall:.1f} ({processor - self.processor:.1f})"


def test_choosing_and_diagnosing(record: Record, tmp_path: Path) -> None:
    machines = {
        "berth board": example("berth_board", tmp_path),
        "pattern board": example("pattern_board", tmp_path),
        "8 by 8": board([grid_of(8, 8)]),
        "16 by 16": board([grid_of(16, 16)]),
    }
    header = (
        "machine",
        "actuators",
        "faults",
        "revealing (bound)",
        "telling (bound)",
        "groups",
        "choosing, s (processor)",
        "diagnosis, s (processor)",
    )
    rows = [row_of(name, machine) for name, machine in machines.items()]
    record("Test frames and diagnosis", table(header, rows))
