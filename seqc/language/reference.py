"""The reference: every statement and setting in words, from the tables that the reader goes by."""

from __future__ import annotations

from dataclasses import dataclass

from seqc.language.forms import FORMS, Form
from seqc.language.quantities import DIMENSIONS, in_words
from seqc.language.schema import Count, Entry, Measure, Plain, Ratio, Schema, ValueKind
from seqc.language.tables import SCHEMAS
from seqc.language.tables.common import MANY
from seqc.language.values import MILLION, wanted
from seqc.machine.wording import listed, quoted


@dataclass(frozen=True, slots=True)
class SettingText:
    """One setting in words; what doesn't apply to it is empty.

    `title` is its phrase, or what it is where it has none. `others` are the settings that it
    excludes.
    """

    title: str
    example: str
    means: str
    value: str
    default: str
    effect: str
    beside: str
    others: tuple[str, ...]
    needed: bool
    repeatable: bool


@dataclass(frozen=True, slots=True)
class StatementText:
    """One statement in words, with its settings in the order of their table."""

    keyword: str
    form: Form
    settings: tuple[SettingText, ...]


def statement_text(keyword: str) -> StatementText:
    """The text of a statement; raises KeyError where no statement has that keyword."""
    schema = SCHEMAS.get(keyword)
    entries = schema.entries if schema else ()
    settings = tuple(setting_text(entry, schema) for entry in entries if schema)
    return StatementText(keyword, FORMS[keyword], settings)


def setting_text(entry: Entry, schema: Schema) -> SettingText:
    """The text of a setting of a block."""
    needed = entry.key in schema.required
    others = tuple(
        other.phrase or other.key for other in schema.of(entry.key) if other is not entry
    )
    return SettingText(
        title=entry.phrase or entry.key,
        example=entry.example,
        means=entry.means,
        value=value_words(entry),
        default="" if needed else entry.default,
        effect=entry.effect,
        beside=entry.beside,
        others=others,
        needed=needed,
        repeatable=entry.repeatable,
    )


def all_statements() -> tuple[StatementText, ...]:
    """The texts of all statements."""
    return tuple(statement_text(keyword) for keyword in FORMS)


def value_words(entry: Entry) -> str:
    """What stands after the phrase of a setting, with its bounds."""
    words = [_kind_words(kind, entry) for kind in entry.values]
    if len(words) > 1 and len(set(words)) == 1:
        return f"{words[0]}, twice"
    return listed(words, "and") if words else ""


def _kind_words(kind: ValueKind, entry: Entry) -> str:
    match kind:
        case Measure(dimension, low, high, varies):
            bounds = f"{in_words(low, dimension)} to {in_words(high, dimension)}"
            return f"{dimension.name}, {bounds}{', with or without a tolerance' if varies else ''}"
        case Count(low, high, several):
            bounds = f"{low} to {high}" if high < MANY else f"{low} or more"
            return f"{'whole numbers' if several else 'a whole number'}, {bounds}"
        case Ratio(low, high):
            return f"a number, {low / MILLION:g} to {high / MILLION:g}"
        case Plain.NAME if entry.refers:
            return f"the name of {listed([_a(keyword) for keyword in entry.refers])}"
        case _:
            return wanted(kind)


def _a(keyword: str) -> str:
    if keyword.endswith("s"):
        return keyword
    return f"an {keyword}" if keyword[0] in "aeiou" else f"a {keyword}"


@dataclass(frozen=True, slots=True)
class Remark:
    """What holds in every statement: a title and a sentence or two."""

    title: str
    text: str


def remarks() -> tuple[Remark, ...]:
    """What holds for the language as a whole."""
    units = "; ".join(
        f"{dimension.name} in {listed(quoted(dimension.units))}" for dimension in DIMENSIONS
    )
    return (
        Remark("Files", "A machine is a text file that ends in `.lanes`, in UTF-8."),
        Remark("Comments", "From `#` to the end of the line."),
        Remark(
            "Statements",
            "A keyword in the first column, a name, and most have a block of settings in braces. "
            "Their order is free, but outputs are given out in the order of the drives.",
        ),
        Remark(
            "Settings",
            "A phrase, then its value, with no sign between them; their order is free. A quantity "
            "that its unit tells, such as the voltage of a coil, has no phrase.",
        ),
        Remark(
            "Names",
            "Letters from a to z, digits and `_`. Items, selectors and gates share one set of "
            "names; all others have their own.",
        ),
        Remark("Quantities", f"A number and a unit, with any SI prefix: {units}."),
        Remark(
            "Tolerances",
            "What differs from part to part may say by how much: `16 ms +- 2 ms`, `16 ms +- 10 %` "
            "or `5 ms to 8 ms`.",
        ),
        Remark(
            "Drawings",
            "Rows between bars in braces of their own, `{ |.##.| |#..#| }`, on one line or more.",
        ),
    )
