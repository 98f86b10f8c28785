"""How glyphs out of reach are told of: several grids, many groups, pictures with absent cells."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from boards import CELL, COLUMN, GRID, board, glyph, grid_of

import seqc
from seqc.machine.glyphs import Font, Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Cell, Grid
from seqc.report.pictures import marked_picture
from seqc.report.reach_text import reach_lines


def with_fonts(machine: Machine, *grids: Grid, count: int = 4) -> Machine:
    random = Random(1)
    fonts = []
    for grid in grids:
        several = [
            tuple(random.choices(("slate", "chalk"), k=len(grid.cells))) for _ in range(count)
        ]
        glyphs = tuple(Glyph(f"g{n}", "f", grid.name, kinds) for n, kinds in enumerate(several))
        fonts.append(Font("f", grid, glyphs))
    return replace(machine, fonts=tuple(fonts))


def told(machine: Machine, grid: seqc.Beyond) -> list[str]:
    near = seqc.nearest(machine, grid)
    return list(reach_lines(machine, grid.reach, grid.remedy, near))


def test_each_grid_is_told_of_and_a_shared_part_becomes_its_own() -> None:
    grids = [grid_of(2, 3, name="hours"), grid_of(2, 3, name="minutes"), grid_of(2, 1, name="ten")]
    machine = with_fonts(board(grids, gates={"drop": GRID}), *grids, count=12)
    hours, minutes = seqc.out_of_reach(machine)
    assert hours.reach.grid == grids[0]
    assert minutes.reach.grid == grids[1]
    lines = told(machine, minutes)
    assert "    split minutes.drop into 3" in lines
    assert "    gate drop that serves minutes alone, in place of whole grid:" in lines


def test_without_letters_the_parts_are_named() -> None:
    grid = grid_of(16, 16)
    machine = with_fonts(board([grid], selectors=(COLUMN,), gates={"drop": COLUMN}), grid, count=30)
    (beyond,) = seqc.out_of_reach(machine)
    assert beyond.remedy.repair.proven
    lines = told(machine, beyond)
    assert "    gate drop: more groups than a letter map has letters" in lines
    split = next(line for line in lines if "split drop.c1 into" in line)
    assert split.startswith("    split drop.c1 into {r")
    assert split.count("{") == 4


def test_a_kind_that_is_lacking_is_told_of_without_a_repair() -> None:
    grid = grid_of(1, 2)
    machine = board([grid], gates={"drop": CELL})
    lost = Font("f", grid, (glyph(grid, "02", name="a"),))
    machine = replace(machine, fonts=(lost,))
    (beyond,) = seqc.out_of_reach(machine)
    lines = told(machine, beyond)
    assert lines[1] == "  no amber is offered in row 1 column 2 of numeral, for 'a'"
    assert not any("repair" in line for line in lines)
    assert [finding.code for finding in beyond.findings] == ["out-of-reach"]


def test_wrong_cells_stand_in_parentheses() -> None:
    grid = grid_of(2, 3, absent=[Cell(1, 2)])
    kinds = ("slate", "chalk", "slate", "slate", "chalk")
    wanted = ("slate", "slate", "slate", "chalk", "chalk")
    signs = {"slate": "#", "chalk": "."}
    assert marked_picture(grid, kinds, wanted, signs) == [" #    (.)", " # (#) . "]
