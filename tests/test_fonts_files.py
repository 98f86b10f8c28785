"""Fonts of other formats, through monobit, and real fonts from Debian's packages."""

from __future__ import annotations

import gzip
import importlib.machinery
import importlib.util
import pathlib

import pytest
from boards import grid_of
from dressed import dressed, from_file, picture_in, told

from seqc.language.declared import Seat
from seqc.machine.model import Machine
from seqc.machine.parts import Grid

pytestmark = pytest.mark.skipif(
    importlib.util.find_spec("monobit") is None, reason="needs the extra `fonts` (monobit)"
)

MICRO = pathlib.Path("/usr/share/fonts/X11/misc/micro.pcf.gz")
SMALL = pathlib.Path("/usr/share/fonts/X11/misc/4x6.pcf.gz")
MIDDLE = pathlib.Path("/usr/share/fonts/X11/misc/5x7.pcf.gz")
UNIFONT = pathlib.Path("/usr/share/unifont/unifont.hex")
CONSOLE = pathlib.Path("/usr/share/consolefonts/Uni2-Fixed16.psf.gz")


def needs(path: pathlib.Path, package: str) -> pytest.MarkDecorator:
    return pytest.mark.skipif(not path.is_file(), reason=f"needs Debian's {package}")


def read(path: pathlib.Path, grid: Grid, text: str, **settings: object) -> Machine:
    machine, findings = dressed(from_file(path, grid, **settings), text)
    assert told(findings) == []
    return machine


def rows_of(hexes: str, width: int) -> list[str]:
    """Rows in hexadecimal, of two digits each, as a picture."""
    bits = [format(int(row, 16), "08b")[:width] for row in hexes.split()]
    return [row.replace("1", "#").replace("0", ".") for row in bits]


# GNU Unifont, font/plane00: the line of U+0041 in its .hex file, 8 by 16.
A_HEX = "0041:0000000018242442427E424242420000"
A_PICTURE = rows_of("00 00 00 00 18 24 24 42 42 7E 42 42 42 42 00 00", 8)


def test_a_line_of_unifont_hex(tmp_path: pathlib.Path) -> None:
    path = tmp_path / "one.hex"
    path.write_text(f"{A_HEX}\n")
    machine = read(path, grid_of(10, 6), "A")
    assert picture_in(machine.fonts[0], "A") == [row[1:7] for row in A_PICTURE[4:14]]


# Rows of `A` in the X.Org misc-misc fonts (public domain), computed from the PCF files of Debian's
# xfonts-base.
@pytest.mark.parametrize(
    "path, rows, columns, hexes",
    [
        pytest.param(MICRO, 5, 3, "E0 A0 E0 A0 A0", marks=needs(MICRO, "xfonts-base")),
        pytest.param(SMALL, 6, 3, "40 A0 E0 A0 A0 00", marks=needs(SMALL, "xfonts-base")),
        pytest.param(MIDDLE, 7, 4, "60 90 90 F0 90 90 00", marks=needs(MIDDLE, "xfonts-base")),
    ],
)
def test_letter_a_of_fonts_of_x(path: pathlib.Path, rows: int, columns: int, hexes: str) -> None:
    machine = read(path, grid_of(rows, columns), "A", seat=Seat.TOP)
    assert picture_in(machine.fonts[0], "A") == rows_of(hexes, columns)


@needs(MICRO, "xfonts-base")
def test_micro_has_ten_distinct_numerals_of_three_by_five() -> None:
    machine = read(MICRO, grid_of(5, 3), "0123456789")
    numerals = {tuple(picture_in(machine.fonts[0], name)) for name in "0123456789"}
    assert len(numerals) == 10
    assert {len(frame.glyphs) for frame in machine.programmes[0].frames} == {1}


@needs(CONSOLE, "console-setup-linux")
def test_a_console_font_in_psf() -> None:
    machine = read(CONSOLE, grid_of(16, 8), "0123456789A")
    assert len(machine.fonts[0].glyphs) > 256
    assert len({tuple(picture_in(machine.fonts[0], name)) for name in "0123456789A"}) == 11


@pytest.mark.thorough
@needs(UNIFONT, "unifont")
def test_a_few_characters_of_a_font_of_many_thousands() -> None:
    machine = read(UNIFONT, grid_of(16, 16), "A港{U+0007}")
    assert [glyph.name for glyph in machine.fonts[0].glyphs] == ["A", "港", "U+0007"]


def noise(count: int) -> bytes:
    """Bytes without a pattern, always the same."""
    return bytes((n * n * 31 + n * 7) % 251 for n in range(count))


@pytest.mark.quick(3)
@pytest.mark.parametrize(
    "content, name",
    [
        (b"", "x.pcf"),
        (noise(4_000), "x.bin"),
        (noise(4_000), "x.psf"),
        (b"\x01fcp" + b"\xff" * 400, "x.pcf"),
        (b"\x72\xb5\x4a\x86" + b"\xff" * 100, "x.psf"),
        (b"0041:zz\n", "x.hex"),
        (b"no font at all\n" * 40, "x.txt"),
        (None, "x.pcf.gz"),
    ],
    ids=["empty", "noise", "noise as psf", "pcf", "psf", "hex", "text", "packed twice"],
)
def test_a_file_that_is_no_font_is_told(
    tmp_path: pathlib.Path, content: bytes | None, name: str
) -> None:
    path = tmp_path / name
    if content is None:
        content = gzip.compress(gzip.compress(bytes(1 << 31), 1), 1)
    path.write_bytes(content)
    machine, findings = dressed(from_file(path, grid_of(5, 3)), "A")
    assert told(findings) == ["error 9:20 font-file"]
    (finding,) = findings
    assert finding.message.startswith(f"font file `{name}` is not a bitmap font that can be read: ")
    assert finding.message.isprintable()
    assert machine.fonts[0].glyphs == ()


def test_without_monobit_the_message_tells_what_to_install(
    tmp_path: pathlib.Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "one.hex"
    path.write_text(f"{A_HEX}\n")
    find = importlib.util.find_spec

    def without(name: str, package: str | None = None) -> importlib.machinery.ModuleSpec | None:
        return None if name == "monobit" else find(name, package)

    monkeypatch.setattr(importlib.util, "find_spec", without)
    _, findings = dressed(from_file(path, grid_of(16, 8)), "A")
    assert told(findings) == ["error 9:20 font-file"]
    assert "pip install 'seqc[fonts]'" in next(iter(findings)).message
