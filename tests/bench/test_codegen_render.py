"""How long it takes to write a large table set for a controller and to read it back.

Run with `pytest tests/bench/test_codegen_render.py`. The set has a thousand tables of thirty steps.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from firmware.handmade import frame, machine_of, random_table, table_set
from firmware.host import target
from pytest_benchmark.fixture import BenchmarkFixture

from seqc.codegen import read_back, render
from seqc.codegen.checks import forbidden_pairs
from seqc.codegen.packing import pack
from seqc.machine.steptable import TableSet
from seqc.machine.tracks import TrackSet

MACHINE = machine_of(64, low=True)


def large_set() -> TableSet:
    """A thousand glyphs whose tables have few holds in common, and few words."""
    tables = tuple(
        replace(random_table(MACHINE, f"show {n}", n, 30), shows=frame(str(n)))
        for n in range(1_000)
    )
    return replace(table_set(MACHINE), tables=tables)


def test_packing(benchmark: BenchmarkFixture) -> None:
    tables = large_set()
    image = benchmark(lambda: pack(tables, forbidden_pairs(MACHINE)))
    assert image.tables == 1_000


@pytest.mark.parametrize("name", ["c99", "ihex", "json", "csv"])
def test_rendering_and_reading_back(name: str, benchmark: BenchmarkFixture) -> None:
    tables = large_set()

    def there_and_back() -> TableSet | TrackSet | None:
        return read_back(target(name), render(target(name), MACHINE, tables))

    assert benchmark(there_and_back) == tables
