"""Changes to the text of a machine file that leave all the rest as it stands."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from seqc.language.settings import Settings, read_settings
from seqc.language.source import Statement
from seqc.machine.findings import Findings, Place

_SIGNS = re.compile(r'"(?:[^"\\\n]|\\[^\n])*"|\|[^|\n]*\||#[^\n]*|[{}]')


@dataclass
class Edits:
    """Stretches of a text to replace; none overlaps another."""

    text: str
    made: list[tuple[int, int, str]] = field(default_factory=list)

    def offset(self, place: Place) -> int:
        """Where a place is, counted in characters from the start of the text."""
        start = 0
        for _ in range(place.line - 1):
            start = self.text.index("\n", start) + 1
        return start + place.column - 1

    def replace(self, start: int, end: int, new: str) -> None:
        """Put something else in place of a stretch."""
        self.made.append((start, end, new))

    def insert(self, statement: Statement, setting: str) -> None:
        """Put a setting at the head of a statement's block."""
        at = self.block(self.offset(statement.place))[0] + 1
        self.replace(at, at, f" {setting} ")

    def set(self, statement: Statement, key: str, new: str) -> None:
        """Put a setting in place of the one with this key, or at the head of the block."""
        span = self.span(statement, key)
        if span is None:
            self.insert(statement, new)
        else:
            self.replace(*span, new)

    def span(self, statement: Statement, key: str) -> tuple[int, int] | None:
        """From where to where a setting and its values stand; None if it isn't there."""
        setting = settings_of(statement).get(key)
        if setting is None:
            return None
        start = self.offset(setting.place)
        words = r"\s+".join(map(re.escape, setting.entry.phrase.split()))
        head = re.compile(words).match(self.text, start)
        assert head is not None
        if setting.entry.phrase == "map":
            return start, self.block(head.end())[1] + 1
        values = re.compile(r"\s*\d+(?:\s*,\s*\d+)*").match(self.text, head.end())
        return start, values.end() if setting.entry.values and values else head.end()

    def block(self, start: int) -> tuple[int, int]:
        """Where the braces of the next block stand."""
        depth, first = 0, -1
        for sign in _SIGNS.finditer(self.text, start):
            if sign[0] == "{":
                first = sign.start() if first < 0 else first
                depth += 1
            elif sign[0] == "}":
                depth -= 1
                if not depth:
                    return first, sign.start()
        raise ValueError("no block")

    def result(self) -> str:
        """The text with all changes made."""
        parts, at = [], 0
        for start, end, new in sorted(self.made):
            parts += [self.text[at:start], new]
            at = end
        return "".join([*parts, self.text[at:]])


def settings_of(statement: Statement) -> Settings:
    """The settings of a statement, whatever is wrong with them."""
    return read_settings(statement, Findings())


def drawn(rows: Sequence[str], indent: str = "    ") -> str:
    """Rows between bars, in braces, as the block of a map or glyph."""
    return "\n".join(["{", *(f"{indent}    |{row}|" for row in rows), f"{indent}}}"])
