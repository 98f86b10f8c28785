"""Where names are declared in a machine file and where they are used."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from seqc.language.settings import segments
from seqc.language.source import Source, Statement, Word
from seqc.language.tables import SCHEMAS
from seqc.machine.findings import Place
from seqc.machine.parts import SHOWN

STATION = "station"
SPACES = {
    "item": STATION,
    "selector": STATION,
    "gate": STATION,
    "clock": "programme",
    "together": "programme",
}
"""Statements that share a set of names; the others have one of their own."""

DECLARING = (
    *("machine", "item", "grid", "selector", "gate", "coil", "relay"),
    *("outputs", "supply", "font", "programme", "clock", "together"),
)


def space_of(keyword: str) -> str:
    """The set of names that a statement declares one of."""
    return SPACES.get(keyword, keyword)


@dataclass(frozen=True, slots=True)
class Occurrence:
    """A name where it stands; `keyword` is that of its declaration, if this is one."""

    space: str
    word: Word
    keyword: str = ""

    @property
    def place(self) -> Place:
        """Where it stands."""
        return self.word.place


@dataclass(frozen=True)
class Names:
    """Every name of a machine file and its includes, wherever it stands."""

    all: tuple[Occurrence, ...]

    def of(self, space: str, text: str) -> list[Occurrence]:
        """Every place of a name."""
        return [one for one in self.all if one.space == space and one.word.text == text]

    def declared(self, *keywords: str) -> list[Occurrence]:
        """The declarations by some statements."""
        return [one for one in self.all if one.keyword in keywords]

    def declaration(self, of: Occurrence) -> Occurrence | None:
        """Where a name is declared; None where it isn't."""
        return next((one for one in self.of(of.space, of.word.text) if one.keyword), None)

    def at(self, file: str, line: int, column: int) -> Occurrence | None:
        """The name at a place, or one that ends there."""
        return next((one for one in self.all if covers(one.place, file, line, column)), None)


def covers(place: Place, file: str, line: int, column: int) -> bool:
    """Whether a place holds a position, or ends at it."""
    inside = place.column <= column <= place.column + place.length
    return place.file == file and place.line == line and inside


def names_of(source: Source) -> Names:
    """The names in the statements of a machine file and its includes."""
    return Names(tuple(one for statement in source.statements for one in _of(statement)))


def _of(statement: Statement) -> Iterator[Occurrence]:
    keyword = statement.keyword
    words = list(statement.names)
    if keyword in DECLARING and words:
        yield Occurrence(space_of(keyword), words.pop(0), keyword)
    if keyword in ("lane", "font") and words:
        yield Occurrence("grid", words.pop(0))
    if keyword in ("path", "drive", "lane"):
        yield from _stations(words)
    yield from _stations(_offered(statement))
    if keyword in SCHEMAS and not statement.broken:
        yield from _in_block(statement)


def _stations(words: list[Word]) -> Iterator[Occurrence]:
    return (Occurrence(STATION, word) for word in words if word.text != SHOWN)


def _offered(statement: Statement) -> list[Word]:
    """The names in a lane, those of its inputs among them."""
    words: list[Word] = []
    waiting = list(reversed(statement.stations))
    while waiting:
        offer = waiting.pop()
        words.append(offer.word)
        waiting += reversed(offer.inputs or ())
    return words


def _in_block(statement: Statement) -> Iterator[Occurrence]:
    for segment in segments(statement):
        entry = segment.entry
        if entry is None or not entry.refers:
            continue
        last = segment.pieces[-1]
        if isinstance(last, Word) and len(segment.pieces) > len(entry.phrase.split()):
            yield Occurrence(space_of(entry.refers[0]), last)
