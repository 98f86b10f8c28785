"""The examples are read without any finding, and their pictures are what they promise."""

from __future__ import annotations

import pathlib

import pytest

from seqc.examples import EXAMPLES, example_files
from seqc.fonts import dress
from seqc.language import read
from seqc.machine.findings import Findings
from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine


def machine_of(name: str, folder: pathlib.Path) -> Machine:
    """An example, written out and read from there."""
    texts = example_files(name)
    for file, text in texts.items():
        (folder / file).write_text(text, encoding="utf-8")
    findings = Findings()
    declared = read(folder / next(iter(texts)), findings)
    assert declared is not None
    machine = dress(declared, findings)
    assert list(findings) == []
    return machine


def columns_of(glyph: Glyph, machine: Machine) -> list[tuple[str, ...]]:
    """The kinds of each column, from the left."""
    grid = machine.lane_of(glyph.grid).grid
    columns: list[list[str]] = [[] for _ in range(grid.columns)]
    for cell, kind in zip(grid.cells, glyph.kinds, strict=True):
        columns[cell.column - 1].append(kind)
    return [tuple(column) for column in columns]


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_example_is_sound_and_shows_all_its_glyphs(name: str, tmp_path: pathlib.Path) -> None:
    machine = machine_of(name, tmp_path)
    assert machine.name == name
    (font,) = machine.fonts
    (programme,) = machine.programmes
    assert [frame.name for frame in programme.frames] == [glyph.name for glyph in font.glyphs]
    assert len({glyph.kinds for glyph in font.glyphs}) == len(font.glyphs)
    assert programme.repeat


def test_the_berth_board_has_ten_numerals_of_three_passes_at_most(tmp_path: pathlib.Path) -> None:
    machine = machine_of("berth_board", tmp_path)
    (font,) = machine.fonts
    assert "".join(glyph.name for glyph in font.glyphs) == "0123456789"
    counts = [len(set(columns_of(glyph, machine))) for glyph in font.glyphs]
    assert counts == [2, 3, 3, 3, 3, 3, 3, 3, 2, 3]
    assert (len(machine.actuators), machine.width) == (11, 24)


def test_six_and_nine_of_the_berth_board_are_one_shape_turned_round(tmp_path: pathlib.Path) -> None:
    machine = machine_of("berth_board", tmp_path)
    six, nine = (machine.fonts[0].by_name[name] for name in "69")
    assert six.kinds == nine.kinds[::-1]


def test_the_pattern_board_uses_every_kind_and_its_mirrored_pictures_need_four_passes(
    tmp_path: pathlib.Path,
) -> None:
    machine = machine_of("pattern_board", tmp_path)
    (font,) = machine.fonts
    assert {kind for glyph in font.glyphs for kind in glyph.kinds} == {
        item.name for item in machine.items
    }
    counts = {glyph.name: len(set(columns_of(glyph, machine))) for glyph in font.glyphs}
    assert counts == {"wave": 2, "buoy": 4, "tide": 2, "anchor": 4, "sail": 8, "lamp": 4}


def test_there_is_no_other_example() -> None:
    with pytest.raises(KeyError):
        example_files("no_board")
