"""Names from the machine file, made safe for the places where they are written."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence

LONGEST_IDENTIFIER = 40
FORMULA_SIGNS = "=+-@'"
CELL_ESCAPE = re.compile(r"\\(?:\\|u([0-9a-f]{6}))")
MARKDOWN_SIGNS = re.compile(r"([\\`*_{}\[\]<>()#+.!|~&-])")


def identifier(text: str) -> str:
    """A text as the tail of an identifier: ASCII letters, digits and underlines.

    Spaces, dots and dashes are underlines, other characters are written as their code points,
    `_u00e9`. It always stands after a prefix of ours, so that it can neither be a keyword nor start
    with a digit.
    """
    joined = re.sub("[ .-]", "_", text)
    kept = re.sub("[^A-Za-z0-9_]", lambda sign: f"_u{ord(sign.group()):04x}", joined)
    return kept[:LONGEST_IDENTIFIER] or "_"


def identifiers(texts: Sequence[str]) -> tuple[str, ...]:
    """An identifier for each text; those that would be equal get a number."""
    taken: set[str] = set()
    found = []
    for text in texts:
        stem = name = identifier(text)
        rank = 1
        while name in taken:
            rank += 1
            name = f"{stem}_{rank}"
        taken.add(name)
        found.append(name)
    return tuple(found)


def note(value: object) -> str:
    """A value as JSON that can stand in any comment: its text can't end the comment or the line.

    Only letters, digits, spaces and a few signs stay as they are, so that there is no end of a
    comment, no trigraph and no character outside ASCII; json.loads gives the value back.
    """
    text = json.dumps(value, ensure_ascii=True)
    return re.sub(r"[^A-Za-z0-9 _.,:;+=<>!#%&@'()\[\]{}\"\\-]", _escaped, text)


def _escaped(sign: re.Match[str]) -> str:
    return f"\\u{ord(sign.group()):04x}"


def spreadsheet(text: str) -> str:
    r"""A text as a cell that a spreadsheet will not take for a formula; `plain` undoes it.

    Characters that don't print are written as their code points, `\u00000a`, a backslash twice.
    """
    line = "".join(map(_visible, text))
    return "'" + line if line.startswith(tuple(FORMULA_SIGNS)) else line


def _visible(sign: str) -> str:
    if sign == "\\":
        return "\\\\"
    return sign if sign.isprintable() else f"\\u{ord(sign):06x}"


def plain(cell: str) -> str:
    """The text of a cell written by `spreadsheet`."""
    return CELL_ESCAPE.sub(
        lambda sign: chr(int(sign[1], 16)) if sign[1] else "\\", cell.removeprefix("'")
    )


def markdown(text: str) -> str:
    """A text in a table of a Markdown document, on one line, with no markup of its own."""
    line = "".join(sign if sign.isprintable() else f"U+{ord(sign):04X}" for sign in text)
    return MARKDOWN_SIGNS.sub(r"\\\1", line)
