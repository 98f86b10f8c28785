"""Statements of one line, and how those that stand one below the other are aligned."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from seqc.language.formatting.lines import GAP, WIDTH

FAMILIES = {"selector": "part", "gate": "part", "machine": "", "include": "", "tolerance": ""}
"""Statements of a family are aligned with each other: the others are families of one keyword."""


@dataclass(frozen=True, slots=True)
class Row:
    """A statement of one line: keyword, what is between it and its block, keys and settings.

    What has no block has a `tail`: that of a lane is its stations.
    """

    keyword: str
    head: str
    keys: tuple[str, ...] = ()
    settings: tuple[str, ...] = ()
    tail: str = ""

    @property
    def family(self) -> str:
        """Which statements it is aligned with."""
        return FAMILIES.get(self.keyword, self.keyword)

    def text(self, keyword: int = 0, head: int = 0, widths: Sequence[int] = ()) -> str:
        """The line, with the widths of its columns."""
        padded = [
            f"{text:<{width}}"
            for text, width in itertools.zip_longest(
                self.settings[:-1], widths[: len(self.settings) - 1], fillvalue=0
            )
        ]
        inside = GAP.join([*padded, *self.settings[-1:]])
        end = self.tail or (f"{{ {inside} }}" if inside else "{ }")
        parts = [f"{self.keyword:<{keyword}}", f"{self.head:<{head}}" if self.head else "", end]
        return " ".join(part for part in parts if part)


def aligned(rows: Sequence[Row]) -> list[str]:
    """The lines of statements of one family, aligned as far as none grows too long."""
    if len(rows) > 1 and rows[0].family:
        keyword, head = (
            max(len(row.keyword) for row in rows),
            max(len(row.head) for row in rows),
        )
        lines = [row.text(keyword, head, _widths(rows)) for row in rows]
        if max(map(len, lines)) <= WIDTH:
            return lines
    return [row.text() for row in rows]


def _widths(rows: Sequence[Row]) -> list[int]:
    """The widths of the leading settings that all lines have; the last of a line needs none."""
    widths: list[int] = []
    for rank, keys in enumerate(zip(*(row.keys for row in rows), strict=False)):
        if len(set(keys)) > 1 or not keys[0]:
            break
        followed = [row.settings[rank] for row in rows if len(row.settings) > rank + 1]
        widths.append(max(map(len, followed), default=0))
    return widths
