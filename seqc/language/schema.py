"""What a block may hold: settings, each a phrase and the values that follow it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from functools import cached_property
from typing import NamedTuple

from seqc.language.quantities import Dimension


class Measure(NamedTuple):
    """A number with a unit; the bounds are in the model's small unit, both allowed.

    What `varies` from piece to piece may have a tolerance.
    """

    dimension: Dimension
    low: int
    high: int
    varies: bool = False


class Count(NamedTuple):
    """A whole number without a unit, or as many as are given with commas between them."""

    low: int
    high: int
    several: bool = False


@dataclass(frozen=True, slots=True)
class Ratio:
    """A number without a unit, whole or not; value and bounds are in millionths."""

    low: int
    high: int


class Plain(Enum):
    """A value that isn't a number."""

    NAME = "a name"
    WORD = "a word"
    TEXT = "a text in quotes"
    ART = "rows in braces"


ValueKind = Measure | Count | Ratio | Plain


class Entry(NamedTuple):
    """One setting of a block.

    Entries with the same `key` exclude each other. An entry without a phrase is a bare quantity,
    known by its dimension. A repeatable one may be given more than once. `example` is a good use.
    One that `continues` says more of the setting before it, and stands close to it. `refers` are
    the keywords of the statements that its name may be declared by.

    The reference tells what it `means`, what it has an `effect` on, its `default`, and what its
    example needs `beside` it.
    """

    phrase: str
    values: tuple[ValueKind, ...]
    key: str
    example: str
    repeatable: bool = False
    continues: bool = False
    refers: tuple[str, ...] = ()
    means: str = ""
    effect: str = ""
    default: str = ""
    beside: str = ""

    def told(self, means: str, effect: str, default: str = "", beside: str = "") -> Entry:
        """The entry with its text for the reference."""
        return self._replace(means=means, effect=effect, default=default, beside=beside)

    @property
    def title(self) -> str:
        """How messages speak of it."""
        return f"`{self.phrase}`" if self.phrase else f"the {self.key}"

    @property
    def varies(self) -> bool:
        """Whether its value may have a tolerance."""
        first = self.values[0] if self.values else None
        return isinstance(first, Measure) and first.varies

    def measures(self, dimension: Dimension) -> bool:
        """Whether its value is a quantity of some dimension."""
        first = self.values[0] if self.values else None
        return isinstance(first, Measure) and first.dimension is dimension


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
        return max((len(phrase.split()) for phrase in self.by_phrase), default=0)

    @cached_property
    def varying(self) -> tuple[Entry, ...]:
        """The entries of quantities that may have a tolerance."""
        return tuple(entry for entry in self.entries if entry.varies)

    @cached_property
    def bare_entries(self) -> tuple[Entry, ...]:
        """The entries of bare quantities."""
        return tuple(entry for entry in self.entries if not entry.phrase)

    def bare(self, dimension: Dimension) -> Entry | None:
        """The entry of a bare quantity of some dimension."""
        return next((entry for entry in self.bare_entries if entry.measures(dimension)), None)

    def of(self, key: str) -> list[Entry]:
        """The entries with a key."""
        return [entry for entry in self.entries if entry.key == key]


def measure(
    phrase: str, dimension: Dimension, low: int, high: int, key: str = "", example: str = ""
) -> Entry:
    """A phrase with a quantity."""
    value = Measure(dimension, low, high)
    return Entry(phrase, (value,), key or phrase, f"{phrase} {example or dimension.example}")


def varying(
    phrase: str, dimension: Dimension, low: int, high: int, key: str = "", example: str = ""
) -> Entry:
    """A phrase with a quantity that may have a tolerance."""
    value = Measure(dimension, low, high, varies=True)
    return Entry(phrase, (value,), key or phrase, f"{phrase} {example or dimension.example}")


def bare(key: str, dimension: Dimension, low: int, high: int) -> Entry:
    """A quantity known by its dimension."""
    return Entry("", (Measure(dimension, low, high),), key, dimension.example)


def count(phrase: str, low: int, high: int, example: str) -> Entry:
    """A phrase with a whole number."""
    return Entry(phrase, (Count(low, high),), phrase, f"{phrase} {example}")


def ratio(phrase: str, low: int, high: int, example: str) -> Entry:
    """A phrase with a number that may have decimals."""
    return Entry(phrase, (Ratio(low, high),), phrase, f"{phrase} {example}")


def name(phrase: str, example: str, *refers: str) -> Entry:
    """A phrase with a name, declared by a statement of one of some keywords."""
    return Entry(phrase, (Plain.NAME,), phrase, f"{phrase} {example}", refers=refers)


def word(phrase: str, example: str) -> Entry:
    """A phrase with a word of the user's choice, which names nothing."""
    return Entry(phrase, (Plain.WORD,), phrase, f"{phrase} {example}")


def art(phrase: str, key: str, rows: str = "|ab| |cd|") -> Entry:
    """A phrase with drawn rows."""
    return Entry(phrase, (Plain.ART,), key, f"{phrase} {{ {rows} }}")


def continuing(entry: Entry) -> Entry:
    """The entry, as one that says more of the setting before it."""
    return entry._replace(continues=True)


def repeatable(entry: Entry) -> Entry:
    """The entry, as one that may be given more than once."""
    return entry._replace(repeatable=True)


def choice(key: str, phrase: str) -> Entry:
    """A phrase without a value, one of those with its key."""
    return Entry(phrase, (), key, phrase)
