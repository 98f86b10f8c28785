"""Fonts in the Glyph Bitmap Distribution Format, versions 2.1 and 2.2 (Adobe 5005).

The text is cut into one stretch for each glyph, and only a glyph that is asked for is parsed (by
bdffont): a font of many thousands of glyphs costs little more than those that are shown, one
broken glyph harms no other, and the bounds are checked before anything is made to measure.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import partial

from bdffont import BdfFont, BdfGlyph  # type: ignore[import-untyped]
from bdffont.error import BdfError  # type: ignore[import-untyped]

from seqc.fonts.bitmap import Bitmap, BitmapFont, FontFileError, brief
from seqc.machine.wording import amount_of

MOST_GLYPHS = 100_000
LARGEST_BOX = 256
LONGEST_GLYPH = 65_536

CHARS = re.compile(r"^CHARS[ \t]+(\S+)", re.MULTILINE)
STARTCHAR = re.compile(r"STARTCHAR[ \t]*(.*)")
ENCODING = re.compile(r"^ENCODING[ \t]+(-?[0-9]{1,8})(?:[ \t].*)?$", re.MULTILINE)
BOX = re.compile(r"^\s*BBX(.*)$", re.MULTILINE)
WHOLE = re.compile(r"-?[0-9]+")
HEXADECIMAL = re.compile(r"[0-9A-Fa-f]+")
LATER_VERSION = re.compile(r"^(?:SWIDTH1|DWIDTH1|VVECTOR)\b.*\n", re.MULTILINE)

NUMBERS = {"ENCODING": 1, "SWIDTH": 2, "DWIDTH": 2, "BBX": 4}
"""How many whole numbers follow a word of a glyph."""
NEEDED = ("ENCODING", "BBX", "BITMAP")

# The head of a font of one glyph, since bdffont reads whole fonts only.
HEAD = "STARTFONT 2.1\nFONT -\nSIZE 1 1 1\nFONTBOUNDINGBOX 0 0 0 0\nCHARS 1\n"


class _BrokenGlyphError(ValueError):
    """What is wrong with a glyph, in words of ours."""


def read_bdf(data: bytes) -> BitmapFont:
    """The glyphs of a BDF file, by the characters that they are encoded as (as in Unicode).

    A glyph without encoding goes by its own name. Raises FontFileError for a file that isn't BDF
    or is larger than the bounds.
    """
    text = data.decode("utf-8", "replace").replace("\r\n", "\n").replace("\r", "\n")
    if not text.startswith("STARTFONT"):
        raise FontFileError("is not a BDF file: it doesn't begin with STARTFONT")
    claim = _claimed(text)
    stretches: dict[str, slice] = {}
    count = 0
    for stretch in _stretches(text):
        count += 1
        stretches.setdefault(_name(text[stretch]), stretch)
    stretches.pop("", None)
    remark = "" if claim == count else f"says that it has {claim} glyphs and has {count}"
    return BitmapFont(stretches, partial(_draw, text, stretches), remark)


def _claimed(text: str) -> int:
    """How many glyphs the head of the file speaks of."""
    head = text[: max(0, text.find("\nSTARTCHAR"))] or text
    found = CHARS.search(head)
    if found is None or not found[1].isdecimal():
        raise FontFileError("doesn't say how many glyphs it has (CHARS and a number)")
    if len(found[1]) > len(str(MOST_GLYPHS)) or int(found[1]) > MOST_GLYPHS:
        raise FontFileError(f"claims {found[1][:20]} glyphs; at most {MOST_GLYPHS} can be read")
    return int(found[1])


def _stretches(text: str) -> Iterator[slice]:
    """The stretch of each glyph, from its STARTCHAR to its ENDCHAR."""
    end = 0
    for _ in range(MOST_GLYPHS + 1):
        start = text.find("\nSTARTCHAR", end) + 1
        if not start:
            return
        end = text.find("\nENDCHAR", start)
        if end < 0:
            raise FontFileError(
                f"ends within a glyph: STARTCHAR in line {_line(text, start)} has no ENDCHAR"
            )
        yield slice(start, end)
    raise FontFileError(f"has more than {MOST_GLYPHS} glyphs")


def _name(stretch: str) -> str:
    """The character that a glyph is encoded as; its own name where that is none or can't be typed.

    The codes that can't be typed are the controls, and the surrogates, which are no characters.
    """
    encoding = ENCODING.search(stretch)
    code = int(encoding[1]) if encoding else -1
    if 32 <= code <= 0x10FFFF and not (127 <= code < 160 or 0xD800 <= code < 0xE000):
        return chr(code)
    own = STARTCHAR.match(stretch)
    return own[1].strip() if own else ""


def _draw(text: str, stretches: dict[str, slice], name: str) -> Bitmap:
    stretch = stretches[name]
    try:
        glyph = _parsed(text[stretch])
    except (BdfError, ValueError, IndexError) as error:
        ours = isinstance(error, _BrokenGlyphError)
        fault = str(error) if ours else brief(_fault(text[stretch]))
        line = _line(text, stretch.start)
        raise FontFileError(f"has a broken glyph in line {line}: {fault}") from error
    return Bitmap(glyph.width, tuple(map(_number, glyph.bitmap)), glyph.offset_y)


def _parsed(stretch: str) -> BdfGlyph:
    if len(stretch) > LONGEST_GLYPH:
        raise _BrokenGlyphError(f"it is described in more than {LONGEST_GLYPH} characters")
    for box in BOX.findall(stretch):
        _check_box(box.split()[:2])
    # The number after -1 is the glyph's index in an encoding of the font's own (5005, section 3).
    plain = ENCODING.sub(r"ENCODING \1", LATER_VERSION.sub("", stretch))
    # Version 2.2 lets the head set the widths of all glyphs; a display of one size needs neither.
    plain = plain.replace("\n", "\nSWIDTH 0 0\nDWIDTH 0 0\n", 1)
    glyph = BdfFont.parse(f"{HEAD}{plain}\nENDCHAR\nENDFONT\n").glyphs[0]
    if len(glyph.bitmap) != glyph.height:
        has = amount_of(len(glyph.bitmap), "row")
        raise _BrokenGlyphError(f"its box has {amount_of(glyph.height, 'row')}, and it {has}")
    return glyph


def _fault(stretch: str) -> str:
    """What is wrong with a glyph that isn't written as BDF is."""
    words: dict[str, list[str]] = {}
    for line in stretch.split("\n"):
        word, *values = line.split() or [""]
        words.setdefault(word, values)
    for word in NEEDED:
        if word not in words:
            return f"it has no {word}"
    for word, count in NUMBERS.items():
        values = words.get(word, ["0"] * count)[:count]
        if len(values) < count or not all(map(WHOLE.fullmatch, values)):
            wanted = amount_of(count, "whole number")
            return f"after {word} stand {wanted}, and here `{' '.join(values)}`"
    rows = stretch.partition("\nBITMAP")[2].split()
    broken = [row for row in rows if not HEXADECIMAL.fullmatch(row)]
    return f"its row `{broken[0]}` isn't hexadecimal" if broken else "it isn't written as BDF is"


def _check_box(sides: list[str]) -> None:
    if any(not 0 <= int(side) <= LARGEST_BOX for side in sides):
        raise _BrokenGlyphError(
            f"its box is {' by '.join(sides)}; sides from 0 to {LARGEST_BOX} can be read"
        )


def _number(bits: list[int]) -> int:
    return int("".join(map(str, bits)) or "0", 2)


def _line(text: str, offset: int) -> int:
    return text.count("\n", 0, offset) + 1
