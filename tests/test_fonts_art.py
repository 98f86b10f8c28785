"""Glyphs drawn in the language, and what can be wrong with them."""

from __future__ import annotations

import pytest
from boards import grid_of
from dressed import declared, drawn, dressed, marks, place, show, told

from seqc.fonts import dress
from seqc.language.declared import DrawnGlyph, FontSource, Mark, ShowSource
from seqc.machine.findings import Findings, Place
from seqc.machine.glyphs import Glyph
from seqc.machine.parts import Cell, Grid

SMALL = grid_of(2, 3)
RING = grid_of(3, 3, [Cell(2, 2)])
TWO = marks("#slate", ".chalk")


def font(*glyphs: DrawnGlyph, signs: tuple[Mark, ...] = TWO, grid: Grid = SMALL) -> FontSource:
    return FontSource("hand", grid, signs, glyphs, place=place(9))


GOOD = drawn("o", "#.#", ".#.")


def test_art_becomes_kinds_in_the_order_of_the_cells() -> None:
    machine, findings = dressed(font(GOOD))
    assert told(findings) == []
    (glyph,) = machine.fonts[0].glyphs
    assert glyph.kinds == ("slate", "chalk", "slate", "chalk", "slate", "chalk")
    assert glyph == Glyph("o", "hand", "numeral", glyph.kinds, place(20, 5))


def test_absent_cells_are_drawn_as_dashes_and_have_no_kind() -> None:
    machine, findings = dressed(font(drawn("o", "###", "#-#", "..."), grid=RING))
    assert told(findings) == []
    assert machine.fonts[0].glyphs[0].kinds == ("slate",) * 5 + ("chalk",) * 3


def test_a_dash_may_be_a_mark_where_no_cell_is_absent() -> None:
    source = font(drawn("o", "###", "---"), signs=marks("#slate", "-chalk"))
    machine, findings = dressed(source)
    assert told(findings) == []
    assert machine.fonts[0].glyphs[0].kinds == ("slate",) * 3 + ("chalk",) * 3


@pytest.mark.parametrize(
    "source, expected, message, hint",
    [
        (
            font(drawn("o", "#.#", ".#.", "...")),
            "error 20:9 glyph-size",
            "glyph `o` is 3 columns by 3 rows; grid `numeral` is 3 columns by 2 rows",
            "every row and column",
        ),
        (
            font(drawn("o", "#.")),
            "error 20:9 glyph-size",
            "glyph `o` is 2 columns by 1 row; grid `numeral` is 3 columns by 2 rows",
            "every row and column",
        ),
        (
            font(drawn("o", "#.#", ".#")),
            "error 22:10 uneven-rows",
            "row 2 of glyph `o` has 2 marks; grid `numeral` has 3 columns",
            "as wide as the grid",
        ),
        (
            font(drawn("o", "#.#", ".x.")),
            "error 22:11 unknown-mark",
            "`x` in glyph `o` has no meaning in font `hand`",
            "its marks are `#` slate, `.` chalk",
        ),
        (
            font(drawn("o", "#.#", ".-.")),
            "error 22:11 unknown-mark",
            "`-` in glyph `o` has no meaning in font `hand`",
            "its marks are",
        ),
        (
            font(drawn("o", "x.x", "x.x"), signs=()),
            "error 21:10 unknown-mark",
            "`x` in glyph `o` has no meaning",
            'declare it: mark "x" and an item',
        ),
        (
            font(drawn("o", "###", "###", "..."), grid=RING),
            "error 22:11 absent-cell",
            "in glyph `o` row 2 column 2 is drawn, and grid `numeral` doesn't have it",
            "draw `-` there",
        ),
        (
            font(drawn("o", "###", "#-#", "..-"), grid=RING),
            "error 23:12 absent-cell",
            "in glyph `o` row 3 column 3 is left out, and grid `numeral` has it",
            "draw a mark there",
        ),
        (
            font(GOOD, drawn("o", "...", "###", line=30)),
            "error 30:5 glyph-twice",
            "glyph `o` is there twice",
            "rename one",
        ),
        (
            font(GOOD, signs=(*TWO, Mark("#", "amber", place(15)))),
            "error 15:1 mark-twice",
            "mark `#` is there twice",
            "rename one",
        ),
        (
            font(GOOD, signs=(*TWO, Mark("##", "amber", place(15)))),
            "error 15:1 mark-sign",
            "`##` can't be a mark",
            "one character",
        ),
        (
            font(drawn("o", "###", "#-#", "..."), grid=RING, signs=(*TWO, *marks("-amber"))),
            "error 11:1 mark-sign",
            "`-` can't be a mark on grid `numeral`",
            "cells that the grid doesn't have",
        ),
        (
            font(GOOD, signs=(*TWO, Mark("o", "mos", place(15)))),
            "error 15:1 item-not-offered",
            "the lane of grid `numeral` doesn't offer `mos`",
            "did you mean `moss`?",
        ),
        (
            font(drawn("a}b", "#.#", ".#.")),
            "error 20:5 glyph-name",
            "`a}b` can't be the name of a glyph",
            "has no braces",
        ),
        (
            font(GOOD, signs=(*TWO, Mark("o", "moss", place(15)))),
            "warning 15:1 unused-mark",
            "no glyph uses the mark `o`",
            "",
        ),
        (font(signs=()), "warning 9:1 empty-font", "font `hand` has no glyph", ""),
    ],
)
def test_each_fault_is_told_at_its_place(
    source: FontSource, expected: str, message: str, hint: str
) -> None:
    _, findings = dressed(source)
    assert expected in told(findings)
    finding = next(f for f in findings if f.code == expected.split()[-1])
    assert message in finding.message
    assert hint in finding.hint


def test_all_faults_are_told_in_one_run_and_sound_glyphs_are_kept() -> None:
    source = font(drawn("a", "#", line=20), GOOD, drawn("c", "x..", "...", line=30))
    machine, findings = dressed(source)
    assert told(findings) == ["error 20:9 glyph-size", "error 31:10 unknown-mark"]
    assert [glyph.name for glyph in machine.fonts[0].glyphs] == ["o"]


def test_a_programme_is_resolved_into_frames() -> None:
    machine, findings = dressed(font(GOOD, drawn("wave", "...", "###", line=30)), "o{wave}o")
    assert told(findings) == []
    (programme,) = machine.programmes
    assert [frame.name for frame in programme.frames] == ["o", "wave", "o"]
    assert (programme.every_us, programme.repeat) == (1_000_000, True)


def test_a_missing_glyph_is_told_once_with_what_the_font_has() -> None:
    machine, findings = dressed(font(GOOD), "oxxo")
    assert told(findings) == ["error 40:10 missing-glyph"]
    (finding,) = findings
    assert finding.message == "font `hand` has no glyph `x`"
    assert finding.hint == "it has `o`"
    assert machine.programmes == ()


def test_a_faulty_glyph_is_not_told_again_where_it_is_shown() -> None:
    _, findings = dressed(font(drawn("o", "#.")), "o")
    assert told(findings) == ["error 20:9 glyph-size"]


def test_a_lone_brace_in_a_programme_is_told() -> None:
    _, findings = dressed(font(GOOD), "o{o")
    assert told(findings) == ["error 40:10 text-brace"]
    assert next(iter(findings)).message == "this brace is never closed"


def test_a_missing_glyph_of_several_letters_is_marked_with_its_braces() -> None:
    _, findings = dressed(font(GOOD), "o{wave}o")
    (finding,) = findings
    assert finding.place == Place("board.lanes", 40, 10, 6)


def test_quoted_signs_in_a_text_leave_the_place_of_the_whole() -> None:
    text = ShowSource('o"x', "numeral", "hand", Place("board.lanes", 40, 8, 6))
    findings = Findings()
    dress(declared([font(GOOD)], [text]), findings)
    assert [finding.place for finding in findings] == [text.place] * 2


def test_wanted_text_must_be_in_some_font() -> None:
    _, fine = dressed(font(GOOD), wanted="oo")
    _, findings = dressed(font(GOOD), wanted="ox")
    assert told(fine) == []
    assert told(findings) == ["error 9:1 missing-glyph"]


def test_shows_of_a_programme_run_in_step() -> None:
    left, right = grid_of(2, 3, name="left"), grid_of(2, 3, name="right")
    fonts = [
        FontSource("a", left, TWO, (GOOD,), place=place(9)),
        FontSource("b", right, TWO, (GOOD,), place=place(10)),
    ]
    findings = Findings()
    shows = [show("oo", "left", "a", 40), show("oo", "right", "b", 41)]
    machine = dress(declared(fonts, shows), findings)
    assert told(findings) == []
    assert [[g.grid for g in frame] for frame in machine.programmes[0].frames] == [
        ["left", "right"],
        ["left", "right"],
    ]
    shows = [show("oo", "left", "a", 40), show("ooo", "right", "b", 41)]
    dress(declared(fonts, shows), findings)
    assert told(findings) == ["error 41:8 shows-uneven"]
    assert next(iter(findings)).related[0].place == shows[0].place
