"""Fonts of any other bitmap format, read by monobit (the extra `fonts`).

Monobit reads a hundred formats, compressed and packed ones among them, and a stranger's file may
ask it for any amount of memory or time. So it works in a process of its own with limits on both.
"""

from __future__ import annotations

import importlib.util
import json
import pathlib
import subprocess
import sys
from typing import Any

from seqc.fonts.bitmap import Bitmap, BitmapFont, FontFileError, brief

READER = pathlib.Path(__file__).with_name("foreign_reader.py")
LONGEST_S = 120


def read_foreign(data: bytes, name: str) -> BitmapFont:
    """The glyphs of a font file of any format that monobit knows, by character or by name.

    `name` is the file's, whose ending tells some formats. Raises FontFileError.
    """
    if importlib.util.find_spec("monobit") is None:
        raise FontFileError(
            "is not BDF, and other formats need the package monobit: pip install 'seqc[fonts]'"
        )
    answer = _read_apart(data, name)
    if "fault" in answer:
        raise FontFileError(f"is not a bitmap font that can be read: {brief(answer['fault'])}")
    glyphs = _named_glyphs(answer["glyphs"])
    remark = f"holds {answer['fonts']} fonts; the first is taken" if answer["fonts"] > 1 else ""
    return BitmapFont(glyphs, glyphs.__getitem__, remark)


def _read_apart(data: bytes, name: str) -> dict[str, Any]:
    """What the reader prints; -P keeps its own folder out of the places that it imports from."""
    command = [sys.executable, "-P", str(READER), name]
    try:
        run = subprocess.run(command, input=data, capture_output=True, timeout=LONGEST_S)
    except subprocess.TimeoutExpired:
        return {"fault": f"reading it takes longer than {LONGEST_S} s"}
    if run.returncode:
        return {"fault": "reading it failed or takes too much memory"}
    answer: dict[str, Any] = json.loads(run.stdout)
    return answer


def _named_glyphs(glyphs: list[dict[str, Any]]) -> dict[str, Bitmap]:
    """Each glyph under each of its names; of glyphs with one name the first is taken."""
    named: dict[str, Bitmap] = {}
    for names in ("names", "spare"):
        for glyph in glyphs:
            bitmap = Bitmap(glyph["width"], tuple(glyph["rows"]), glyph["bottom"])
            for name in glyph[names]:
                named.setdefault(name, bitmap)
    return named
