"""Fonts in BDF: what is read, where it is placed, and what is refused."""

from __future__ import annotations

import gzip
import pathlib

import pytest
from boards import grid_of
from dressed import FILE_PLACE, drawn, dressed, from_file, marks, picture_in, place, told
from hypothesis import given
from hypothesis import strategies as st

from seqc.fonts.bdf import read_bdf
from seqc.fonts.bitmap import Bitmap, FontFileError
from seqc.language.declared import Align, FontSource, Seat
from seqc.machine.findings import Findings
from seqc.machine.model import Machine
from seqc.machine.parts import Cell, Grid

HEAD = """STARTFONT 2.1
COMMENT made by a test
FONT -harbour-plain-
SIZE 8 75 75
FONTBOUNDINGBOX 9 24 -2 -6
STARTPROPERTIES 1
COPYRIGHT "Say ""berth"" aloud"
ENDPROPERTIES
"""
Rows = list[str]


def glyph_text(name: str, encoding: str, box: tuple[int, int, int, int], rows: Rows) -> str:
    lines = [f"STARTCHAR {name}", f"ENCODING {encoding}", "SWIDTH 500 0", "DWIDTH 8 0"]
    return "\n".join([*lines, f"BBX {' '.join(map(str, box))}", "BITMAP", *rows, "ENDCHAR", ""])


def font_text(*glyphs: str, chars: object = None) -> str:
    count = len(glyphs) if chars is None else chars
    return f"{HEAD}CHARS {count}\n{''.join(glyphs)}ENDFONT\n"


def hex_rows(bits: list[str]) -> Rows:
    """Rows padded with zeros on the right to whole bytes, as 5005 has them."""
    width = -len(bits[0]) % 8 + len(bits[0])
    return [format(int(row.ljust(width, "0"), 2), f"0{width // 4}X") for row in bits]


def letter(name: str, *art: str, left: int = 0, bottom: int = 0) -> str:
    """A glyph from art of `#` and `.`."""
    bits = [row.replace("#", "1").replace(".", "0") for row in art]
    box = (len(art[0]), len(art), left, bottom)
    return glyph_text(f"char{ord(name)}", str(ord(name)), box, hex_rows(bits))


def shown(
    tmp_path: pathlib.Path, text: str, grid: Grid, show: str, **settings: object
) -> tuple[Machine, Findings]:
    path = tmp_path / "plain.bdf"
    path.write_text(text, encoding="utf-8")
    return dressed(from_file(path, grid, **settings), show)


# Adobe 5005, Glyph Bitmap Distribution Format 2.2, the example glyph `j`.
J_ROWS = ["0380"] * 4 + ["0000"] + ["0700"] * 4 + ["0E00"] * 5 + ["1C00"] * 4
J_ROWS += ["3C00", "7800", "F000", "E000"]
J = glyph_text("j", "106", (9, 22, -2, -6), J_ROWS)
J_PICTURE = (
    ["......###"] * 4 + ["........."] + [".....###."] * 4 + ["....###.."] * 5 + ["...###..."] * 4
)
J_PICTURE += ["..####...", ".####....", "####.....", "###......"]


@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
def test_the_example_glyph_of_the_format(tmp_path: pathlib.Path, line_end: str) -> None:
    text = font_text(J).replace("\n", line_end)
    grid = grid_of(24, 9)
    machine, findings = shown(tmp_path, text, grid, "j", seat=Seat.BASELINE, baseline_row=17)
    assert told(findings) == []
    assert picture_in(machine.fonts[0], "j") == ["." * 9, *J_PICTURE, "." * 9]


@given(st.data(), st.integers(1, 40), st.integers(1, 40), st.integers(-9, 9))
def test_any_bitmap_comes_back_as_it_was_written(
    data: st.DataObject, width: int, height: int, bottom: int
) -> None:
    rows = data.draw(st.lists(st.integers(0, 2**width - 1), min_size=height, max_size=height))
    bits = [format(row, f"0{width}b") for row in rows]
    text = font_text(glyph_text("x", "120", (width, height, 3, bottom), hex_rows(bits)))
    assert read_bdf(text.encode()).draw("x") == Bitmap(width, tuple(rows), bottom)


DOT = letter("i", "....", ".#..", ".##.", "....")


@pytest.mark.parametrize(
    "align, seat, expected",
    [
        (Align.LEFT, Seat.TOP, ["#....", "##...", ".....", ".....", "....."]),
        (Align.CENTRE, Seat.MIDDLE, [".....", ".#...", ".##..", ".....", "....."]),
        (Align.RIGHT, Seat.TOP, ["...#.", "...##", ".....", ".....", "....."]),
        (Align.LEFT, Seat.BASELINE, [".....", ".....", "#....", "##...", "....."]),
    ],
)
def test_ink_is_placed_without_its_margins(
    tmp_path: pathlib.Path, align: Align, seat: Seat, expected: list[str]
) -> None:
    """One empty row below the ink stands on the baseline, the lower edge of the last row."""
    settings = {"align": align, "seat": seat}
    machine, findings = shown(tmp_path, font_text(DOT), grid_of(5, 5), "i", **settings)
    assert told(findings) == []
    assert picture_in(machine.fonts[0], "i") == expected


def test_a_glyph_without_ink_is_all_paper(tmp_path: pathlib.Path) -> None:
    space = glyph_text("space", "32", (0, 0, 0, 0), [])
    machine, findings = shown(tmp_path, font_text(space), grid_of(2, 3), " ", seat=Seat.BASELINE)
    assert told(findings) == []
    assert picture_in(machine.fonts[0], " ") == ["...", "..."]


TALL = letter("g", "####", "#..#", "####", "...#", "####", bottom=-2)


@pytest.mark.parametrize(
    "grid, settings, message",
    [
        (grid_of(5, 3), {}, "1 column too wide"),
        (grid_of(3, 4), {}, "2 rows below its last row"),
        (grid_of(5, 4), {"seat": Seat.BASELINE}, "2 rows below its last row"),
        (grid_of(5, 4), {"seat": Seat.BASELINE, "baseline_row": 2}, "1 row above its top"),
        (
            grid_of(2, 2),
            {"seat": Seat.BASELINE, "baseline_row": 1},
            "2 columns too wide, 2 rows above its top, 1 row below its last row",
        ),
        (grid_of(5, 4, [Cell(5, 1)]), {}, "has ink in row 5 column 1, which grid"),
    ],
)
def test_a_glyph_that_does_not_fit_is_told_only_where_it_is_shown(
    tmp_path: pathlib.Path, grid: Grid, settings: dict[str, object], message: str
) -> None:
    small = letter("i", "#")
    text = font_text(TALL, small)
    machine, quiet = shown(tmp_path, text, grid, "i", **{**settings, "seat": Seat.TOP})
    assert told(quiet) == []
    assert [glyph.name for glyph in machine.fonts[0].glyphs][-1:] == ["i"]
    _, findings = shown(tmp_path, text, grid, "ig", **settings)
    assert told(findings) == ["error 40:10 glyph-unfit"]
    assert message in next(iter(findings)).message


def test_paper_on_absent_cells_is_nothing(tmp_path: pathlib.Path) -> None:
    grid = grid_of(3, 3, [Cell(2, 2)])
    ring = letter("o", "###", "#.#", "###")
    machine, findings = shown(tmp_path, font_text(ring), grid, "o")
    assert told(findings) == []
    assert picture_in(machine.fonts[0], "o") == ["###", "# #", "###"]


def test_unencoded_glyphs_go_by_their_own_names(tmp_path: pathlib.Path) -> None:
    glyphs = [
        glyph_text("wave", "-1", (1, 1, 0, 0), ["80"]),
        glyph_text("buoy", "-1 65", (1, 1, 0, 0), ["80"]),
        glyph_text("bell", "7", (1, 1, 0, 0), ["80"]),
    ]
    machine, findings = shown(tmp_path, font_text(*glyphs), grid_of(1, 1), "{wave}{buoy}{bell}")
    assert told(findings) == []
    assert [glyph.name for glyph in machine.fonts[0].glyphs] == ["wave", "buoy", "bell"]


def test_vertical_metrics_and_common_widths_of_version_2_2_are_passed_over() -> None:
    text = font_text("STARTCHAR a\nENCODING 97\nVVECTOR 1 2\nBBX 1 1 0 0\nBITMAP\n80\nENDCHAR\n")
    assert read_bdf(text.replace("SIZE", "METRICSSET 2\nSIZE").encode()).draw("a").rows == (1,)


def test_a_drawn_glyph_counts_before_that_of_the_file(tmp_path: pathlib.Path) -> None:
    path = tmp_path / "plain.bdf"
    path.write_text(font_text(letter("i", "#"), letter("o", "#")))
    source = from_file(path, grid_of(1, 2))
    both = FontSource(
        "plain", source.grid, marks(".chalk"), (drawn("i", ".."),), source.file, place=place(9)
    )
    machine, findings = dressed(both, "io")
    assert told(findings) == []
    assert picture_in(machine.fonts[0], "i") == [".."]
    assert picture_in(machine.fonts[0], "o") == ["#."]


def test_a_compressed_file_is_unpacked(tmp_path: pathlib.Path) -> None:
    path = tmp_path / "plain.bdf.gz"
    path.write_bytes(gzip.compress(font_text(J).encode()))
    machine, findings = dressed(from_file(path, grid_of(22, 9)), "j")
    assert told(findings) == []
    assert picture_in(machine.fonts[0], "j") == J_PICTURE


def test_of_a_large_file_only_what_is_asked_for_is_drawn(tmp_path: pathlib.Path) -> None:
    path = tmp_path / "many.bdf"
    count = 3_000
    glyphs = [glyph_text("x", str(0x4E00 + n), (1, 1, 0, 0), ["80"]) for n in range(count)]
    broken = glyph_text("x", "65", (1, 1, 0, 0), ["80", "80"])
    path.write_text(font_text(*glyphs, broken))
    source = from_file(path, grid_of(1, 1))
    asked, findings = dressed(source, "丁七", wanted="万")
    assert told(findings) == []
    assert [glyph.name for glyph in asked.fonts[0].glyphs] == ["丁", "七", "万"]
    whole, findings = dressed(source, whole=True)
    assert told(findings) == []
    assert len(whole.fonts[0].glyphs) == count
    _, findings = dressed(source, "A")
    assert told(findings) == ["error 40:9 glyph-unfit"]


HOSTILE = {
    "a billion glyphs": (font_text(J, chars=10**9), "claims 1000000000 glyphs; at most 100000"),
    "glyphs beyond number": (font_text(J, chars="9" * 5000), "claims 99999999999999999999 glyphs"),
    "no number of glyphs": (font_text(J, chars="many"), "doesn't say how many glyphs"),
    "no end": (font_text(J).replace("ENDCHAR", ""), "STARTCHAR in line 10 has no ENDCHAR"),
    "no head": (J, "is not BDF, and other formats|is not a bitmap font"),
    "nothing": ("", "is not BDF, and other formats|is not a bitmap font"),
    "text": ("berth\n" * 9, "is not BDF, and other formats|is not a bitmap font"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_broken_file_is_told_once_at_its_declaration(tmp_path: pathlib.Path, name: str) -> None:
    text, message = HOSTILE[name]
    machine, findings = shown(tmp_path, text, grid_of(22, 9), "j")
    assert told(findings) == ["error 9:20 font-file"]
    (finding,) = findings
    assert finding.place == FILE_PLACE
    assert finding.message.startswith("font file `plain.bdf` ")
    assert any(part in finding.message for part in message.split("|"))
    assert machine.fonts[0].glyphs == ()


@pytest.mark.parametrize(
    "old, new, message",
    [
        ("BBX 9 22", "BBX 1000000000 22", "its box is 1000000000 by 22; sides from 0 to 256"),
        ("BBX 9 22", "BBX 9 1000000000", "its box is 9 by 1000000000; sides from 0 to 256"),
        ("BBX 9 22", "BBX -9 22", "its box is -9 by 22"),
        ("BBX 9 22", "BBX x 22", "after BBX stand 4 whole numbers, and here `x 22 -2 -6`"),
        ("BBX 9 22 -2 -6", "BBX 9 22", "after BBX stand 4 whole numbers, and here `9 22`"),
        ("BBX 9 22", "BBX 9 21", "its box has 21 rows, and it 22 rows"),
        ("3C00", "3Z00", "its row `3Z00` isn't hexadecimal"),
        ("BITMAP", "", "it has no BITMAP"),
        ("BBX 9 22 -2 -6\n", "", "it has no BBX"),
        ("E000\n", "E000\n" * 20_000, "in more than 65536 characters"),
    ],
)
def test_a_broken_glyph_is_told_with_its_line_where_it_is_shown(
    tmp_path: pathlib.Path, old: str, new: str, message: str
) -> None:
    text = font_text(letter("i", "#"), J.replace(old, new, 1))
    _, quiet = shown(tmp_path, text, grid_of(22, 9), "i")
    assert told(quiet) == []
    _, findings = shown(tmp_path, text, grid_of(22, 9), "j")
    assert told(findings) == ["error 40:9 glyph-unfit"]
    (finding,) = findings
    assert "font file `plain.bdf` has a broken glyph in line 18: " in finding.message
    assert message in finding.message


def test_a_wrong_count_is_a_warning(tmp_path: pathlib.Path) -> None:
    machine, findings = shown(tmp_path, font_text(J, chars=3), grid_of(22, 9), "j")
    assert told(findings) == ["warning 9:20 font-file"]
    assert "says that it has 3 glyphs and has 1" in next(iter(findings)).message
    assert machine.programmes


def test_more_glyphs_than_the_bound_are_refused() -> None:
    with pytest.raises(FontFileError, match="has more than 100000 glyphs"):
        read_bdf(font_text("STARTCHAR a\nENDCHAR\n" * 100_001, chars=1).encode())


@pytest.mark.parametrize("kind", ["missing", "folder", "large", "unpacked large", "broken gzip"])
def test_a_file_that_can_not_be_opened_is_told(tmp_path: pathlib.Path, kind: str) -> None:
    path = tmp_path / "plain.bdf"
    too_much = b"STARTFONT 2.1\n".ljust((16 << 20) + 1)
    if kind == "folder":
        path.mkdir()
    elif kind != "missing":
        content = {
            "large": too_much,
            "unpacked large": gzip.compress(too_much),
            "broken gzip": gzip.compress(too_much)[:500],
        }
        path.write_bytes(content[kind])
    _, findings = dressed(from_file(path, grid_of(2, 2)), "j")
    assert told(findings) == ["error 9:20 font-file"]
    expected = {
        "missing": "is missing",
        "folder": "is not a file",
        "large": "is larger than 16 MiB",
        "unpacked large": "is larger than 16 MiB",
        "broken gzip": "can't be unpacked: it is cut off or damaged",
    }
    assert expected[kind] in next(iter(findings)).message


def test_settings_of_a_file_are_checked(tmp_path: pathlib.Path) -> None:
    path = tmp_path / "plain.bdf"
    path.write_text(font_text(J))
    source = from_file(path, grid_of(22, 9), seat=Seat.BASELINE, baseline_row=23)
    _, findings = dressed(source, "j")
    assert told(findings) == ["error 9:1 baseline-row"]


junk = st.lists(
    st.sampled_from([*font_text(J, letter("i", "#")).splitlines(), "BBX 1", "ENCODING", "é", ""]),
    max_size=40,
)


@given(junk, st.sampled_from("ji"))
def test_shuffled_lines_end_in_a_font_or_in_a_message(lines: list[str], name: str) -> None:
    try:
        font = read_bdf("\n".join(["STARTFONT 2.1", *lines]).encode())
        widths = [font.draw(name).width] if name in font.names else [0]
        message = ""
    except FontFileError as error:
        widths, message = [0], str(error)
    assert widths[0] <= 256
    assert message.isprintable()
