"""Small builds compared with kept files, one feature each; `--update-golden` writes them anew."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from unittest import mock

import pytest
from firmware.handmade import frame, machine_of, table, table_set
from firmware.host import target

from seqc.codegen import render
from seqc.codegen.number import NO_NUMBER
from seqc.machine.steptable import TableSet, TablesFor

GOLDEN = Path(__file__).parent / "golden"
MACHINE = machine_of(2, 4, low=True, name="quay */")


def small_set(tables_for: TablesFor) -> TableSet:
    """Two frames of one pulse each."""
    tables = (
        table(MACHINE, "show 1", [2], shows=frame("1")),
        table(MACHINE, "show =", [4], shows=frame("=")),
    )
    if tables_for is TablesFor.TRANSITION:
        tables = (tables[0], replace(tables[1], after=frame("1")))
    home = table(MACHINE, "home", [1])
    return replace(table_set(MACHINE, tables_for), home=home, tables=tables)


CASES = [
    ("c99", "seqc_tables.h", TablesFor.GLYPH),
    ("c99", "seqc_tables.h", TablesFor.TRANSITION),
    ("json", "seqc_tables.json", TablesFor.GLYPH),
    ("csv", "seqc_steps.csv", TablesFor.GLYPH),
    ("csv", "seqc_tables.csv", TablesFor.TRANSITION),
    ("csv", "seqc_set.csv", TablesFor.GLYPH),
]


@pytest.mark.parametrize(("name", "file", "tables_for"), CASES)
def test_files_are_as_they_were(
    name: str, file: str, tables_for: TablesFor, pytestconfig: pytest.Config
) -> None:
    with mock.patch("seqc.codegen.rendering.number_of", return_value=NO_NUMBER):
        built = render(target(name), MACHINE, small_set(tables_for))[file]
    kept = GOLDEN / f"{name}_{tables_for.value}_{file}"
    if pytestconfig.getoption("--update-golden"):
        kept.write_bytes(built.encode())
    assert built == kept.read_bytes().decode()
