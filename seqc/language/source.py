"""The source form: statements as they are written, with their places."""

from __future__ import annotations

import pathlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from seqc.language.declared import Art
from seqc.machine.findings import Place


class Word(NamedTuple):
    """A name, a unit or a word of a setting."""

    text: str
    place: Place


class Number(NamedTuple):
    """A number as written, without its unit."""

    text: str
    place: Place


class Text(NamedTuple):
    """What stood in quotes, with the escapes resolved."""

    text: str
    place: Place


class Comma(NamedTuple):
    """A comma between the numbers of a list."""

    place: Place


class PlusMinus(NamedTuple):
    """What stands between a value and its tolerance."""

    place: Place


Piece = Word | Number | Text | Comma | PlusMinus | Art


@dataclass(frozen=True, slots=True, eq=False)
class Offer:
    """A station of a lane: a name, and the inputs in brackets after it, if any."""

    word: Word
    inputs: tuple[Offer, ...] | None


@dataclass(frozen=True, slots=True, eq=False)
class Statement:
    """One statement.

    `tolerance`, `controller` and `air` have no name. `names` are the names between the keyword and
    the block, in order; `file` is the name of an include or a font file; `stations` are those of a
    lane, whose one piece is the drawing of its cells, if it has any. A broken statement had a
    syntax error that has been reported: only its keyword is sure, and `names` holds what could be
    made out.
    """

    keyword: str
    place: Place
    names: tuple[Word, ...] = ()
    file: Text | None = None
    stations: tuple[Offer, ...] = ()
    pieces: tuple[Piece, ...] = ()
    broken: bool = False

    @property
    def name(self) -> Word:
        """The name that it declares, or the first one that it speaks of, or else its keyword."""
        return self.names[0] if self.names else Word(self.keyword, self.place)

    def __str__(self) -> str:
        """How messages speak of it."""
        if not self.names:
            return f"`{self.keyword}`"
        joints = {"path": " -> ", "drive": ", "}
        names = [word.text for word in self.names]
        title = joints[self.keyword].join(names) if self.keyword in joints else names[0]
        return f"{self.keyword} `{title}`"


@dataclass(frozen=True, slots=True, eq=False)
class Source:
    """All statements of a machine file and its includes, in the order in which they count.

    No file may lie outside of `folders`, of which the first is that of the machine file. `whole` is
    False when an include could not be read, so that names may be missing without fault.
    """

    name: str
    folders: tuple[pathlib.Path, ...]
    statements: tuple[Statement, ...]
    whole: bool

    def of(self, *keywords: str) -> Iterator[Statement]:
        """The sound statements of some keywords."""
        return (s for s in self.statements if s.keyword in keywords and not s.broken)

    def broken(self, *keywords: str) -> Iterator[Statement]:
        """The broken statements of some keywords."""
        return (s for s in self.statements if s.keyword in keywords and s.broken)

    def is_whole(self, keyword: str) -> bool:
        """Whether every statement of a keyword could be read."""
        return self.whole and not any(self.broken(keyword))
