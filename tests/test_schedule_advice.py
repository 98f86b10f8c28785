"""Advice is what the changed machine file itself would give: each change is made there, in text."""

from __future__ import annotations

from pathlib import Path

import pytest
from examples_on_disk import machine_file, machine_of

import seqc
from seqc.machine.findings import Findings
from seqc.machine.glyphs import Frame, Glyph, Programme
from seqc.machine.model import Machine

CHANGES = {
    "supply bench: limit 8 A": ("limit 4 A", "limit 8 A"),
    "coil small: pulse 22.5 ms, if it still latches": ("pulse 30 ms", "pulse 22.5 ms"),
    "coil large: pulse 30 ms, if it still latches": ("pulse 40 ms", "pulse 30 ms"),
    "path drop to swap: at 17 deg": ("at 12 deg", "at 17 deg"),
    "path swap to shown: at 16 deg": ("at 11 deg", "at 16 deg"),
}


def advised(folder: Path) -> dict[str, int | None]:
    machine = machine_of("berth_board", folder)
    found = seqc.advise(machine, seqc.plan(machine, seqc.asked(machine)))
    periods = [advice.period_us for advice in found if advice.period_us is not None]
    assert periods == sorted(periods)
    return {advice.change: advice.period_us for advice in found}


def period_with(folder: Path, *edits: tuple[str, str]) -> int:
    """The period of the berth board after edits of its files."""
    main = machine_file("berth_board", folder)
    for path in sorted(folder.glob("*.lanes")):
        text = path.read_text("utf-8")
        for old, new in edits:
            text = text.replace(old, new)
        path.write_text(text, "utf-8")
    machine = seqc.read(main, Findings())
    return seqc.plan(machine, seqc.asked(machine)).timing.period_us


@pytest.mark.thorough
def test_every_change_gives_the_period_of_the_edited_file(tmp_path: Path) -> None:
    found = advised(tmp_path)
    assert set(found) <= {*CHANGES, "rows and columns swapped"}
    before = period_with(tmp_path)
    assert len(found) > 2
    assert before not in found.values()
    for change, edit in CHANGES.items():
        # A steeper path's tolerance is scaled from a rounded one.
        apart_us = (found.get(change, before) or 0) - period_with(tmp_path, edit)
        assert abs(apart_us) <= 2, change


@pytest.mark.thorough
def test_swapping_rows_and_columns_is_swapping_the_linkages(tmp_path: Path) -> None:
    found = advised(tmp_path)["rows and columns swapped"]
    edits = (("per row", "per ..."), ("per column", "per row"), ("per ...", "per column"))
    assert found == period_with(tmp_path, *edits)


def test_a_change_that_puts_a_glyph_out_of_reach_says_so(tmp_path: Path) -> None:
    main = machine_file("berth_board", tmp_path)
    text = main.read_text("utf-8").replace("pick { per row", "pick { whole grid")
    main.write_text(text, "utf-8")
    machine = seqc.read(main, Findings())
    planned = seqc.plan(machine, bars(machine))
    found = {advice.change: advice.period_us for advice in seqc.advise(machine, planned)}
    assert found["rows and columns swapped"] is None
    assert [change for change, period in found.items() if period is None] == [
        "rows and columns swapped"
    ]


def bars(machine: Machine) -> Programme:
    """Columns of slate and chalk by turns: within reach by column, and out of reach by row."""
    kinds = tuple(("slate", "chalk")[cell.column % 2] for cell in machine.grids[0].cells)
    glyph = Glyph("bars", "hand", "numeral", kinds)
    return Programme("bars", (Frame((glyph,)),), 1_000_000)
