"""Reads a font file from its standard input with monobit and prints it as JSON.

Run as a program of its own by `seqc.fonts.foreign`; it imports nothing of the project.
"""

from __future__ import annotations

import io
import json
import logging
import sys
from typing import Any

MOST_BYTES = 1 << 30
MOST_GLYPHS = 100_000


def limit_memory() -> None:
    """Let the process fail rather than take more than a gibibyte, where the system can do so."""
    if sys.platform != "win32":
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))


def read(data: bytes, name: str) -> dict[str, Any]:
    """The first font of a file as plain values, or the fault that keeps it from being read."""
    import monobit  # type: ignore[import-untyped]

    raw = io.BytesIO(data)
    raw.name = name
    # Whatever monobit and what it calls raise on a broken file, the file is what is at fault.
    try:
        pack = monobit.load(io.BufferedReader(raw))
        fonts = [font for font in pack if font.glyphs]
    except Exception:
        return {"fault": "its format isn't known, or it is cut off or damaged"}
    # Monobit takes what it doesn't recognise for raw bits, of which anything can be made.
    if not fonts or fonts[0].source_format.startswith("raw"):
        return {"fault": "no font format is recognised in it"}
    if len(fonts[0].glyphs) > MOST_GLYPHS:
        return {"fault": f"it has more than {MOST_GLYPHS} glyphs"}
    return {"fonts": len(fonts), "glyphs": [plain(glyph) for glyph in fonts[0].glyphs]}


def plain(glyph: Any) -> dict[str, Any]:  # noqa: ANN401
    """A glyph as plain values; `bottom` is its height above the baseline."""
    rows = ["".join("1" if level else "0" for level in row) for row in glyph.as_matrix()]
    characters = [char.value for char in glyph.chars if typed(char.value)]
    return {
        "names": characters,
        "spare": spare_names(glyph, bool(characters)),
        "width": glyph.width,
        "rows": [int(row or "0", 2) for row in rows],
        "bottom": glyph.shift_up,
    }


def spare_names(glyph: Any, has_characters: bool) -> list[str]:  # noqa: ANN401
    """What a glyph is called where no glyph is known to be that character.

    The character of its code, else its own names, else the number of a character that can't be
    typed. Beside characters the code is but an index, though one that keeps to ASCII as a rule; it
    helps because monobit takes the characters 0 to 9 for codes.
    """
    codes = [int.from_bytes(bytes(code), "big") for code in glyph.codepoints]
    most = 0x7F if has_characters else 0x10FFFF
    coded = [chr(code) for code in codes if code <= most and typed(chr(code))]
    own = [tag.value for tag in glyph.tags if tag.value]
    untyped = [f"U+{ord(char.value):04X}" for char in glyph.chars if len(char.value) == 1]
    return coded or own or ([] if has_characters else untyped)


def typed(text: str) -> bool:
    """Whether a text can be typed: no controls in it, and no surrogates (no characters)."""
    return bool(text) and not any(
        ord(c) < 32 or 127 <= ord(c) < 160 or 0xD800 <= ord(c) < 0xE000 for c in text
    )


if __name__ == "__main__":
    limit_memory()
    logging.disable(logging.CRITICAL)
    sys.stdout.write(json.dumps(read(sys.stdin.buffer.read(), sys.argv[1])))
