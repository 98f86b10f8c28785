"""What a block may hold: settings, each a phrase and the values that follow it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from functools import cached_property

from seqc.language.quantities import Dimension
from seqc.language.wording import listed, quoted


@dataclass(frozen=True, slots=True)
class Measure:
    """A number with a unit; the bounds are in the model's small unit, both allowed."""

    dimension: Dimension
    low: int
    high: int


@dataclass(frozen=True, slots=True)
class Count:
    """A whole number without a unit, or as many as are given with commas between them."""

    low: int
    high: int
    several: bool = False


class Plain(Enum):
    """A value that isn't a number."""

    NAME = "a name"
    TEXT = "a text in quotes"
    ART = "rows in braces, such as `{ |.##.| |#..#| }`"


ValueKind = Measure | Count | Plain


@dataclass(frozen=True, slots=True)
class Entry:
    """One setting of a block.

    Entries with the same `key` exclude each other. An entry without a phrase is a bare quantity,
    known by its dimension. A repeatable one may be given more than once.
    """

    phrase: str
    values: tuple[ValueKind, ...]
    key: str
    repeatable: bool = False

    @property
    def title(self) -> str:
        """How messages speak of it."""
        return f"`{self.phrase}`" if self.phrase else f"the {self.key}"


@dataclass(frozen=True)
class Schema:
    """All settings of one kind of block; `required` are the keys without which it isn't whole."""

    entries: tuple[Entry, ...]
    required: tuple[str, ...] = ()

    @cached_property
    def by_phrase(self) -> dict[str, Entry]:
        """The entries that have a phrase."""
        return {entry.phrase: entry for entry in self.entries if entry.phrase}

    @cached_property
    def longest(self) -> int:
        """The most words that a phrase has."""
        return max(len(phrase.split()) for phrase in self.by_phrase)

    def bare(self, dimension: Dimension) -> Entry | None:
        """The entry of a bare quantity of some dimension."""
        for entry in self.entries:
            value = entry.values[0] if entry.values and not entry.phrase else None
            if isinstance(value, Measure) and value.dimension is dimension:
                return entry
        return None

    def described(self, key: str) -> str:
        """What a missing key could be given as."""
        entries = [entry for entry in self.entries if entry.key == key]
        return listed([_example(entry) for entry in entries])


def _example(entry: Entry) -> str:
    value = entry.values[0] if entry.values else None
    if isinstance(value, Measure):
        return f"`{entry.phrase} {value.dimension.example}`".replace("` ", "`")
    return quoted([entry.phrase])[0]


def measure(phrase: str, dimension: Dimension, low: int, high: int, key: str = "") -> Entry:
    """A phrase with a quantity."""
    return Entry(phrase, (Measure(dimension, low, high),), key or phrase)


def bare(key: str, dimension: Dimension, low: int, high: int) -> Entry:
    """A quantity known by its dimension."""
    return Entry("", (Measure(dimension, low, high),), key)


def count(phrase: str, low: int, high: int) -> Entry:
    """A phrase with a whole number."""
    return Entry(phrase, (Count(low, high),), phrase)


def name(phrase: str) -> Entry:
    """A phrase with a name."""
    return Entry(phrase, (Plain.NAME,), phrase)


def choices(key: str, phrases: Sequence[str]) -> tuple[Entry, ...]:
    """Phrases without a value, of which one may be given."""
    return tuple(Entry(phrase, (), key) for phrase in phrases)
