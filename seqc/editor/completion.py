"""What may be written at a place: statements, settings, names and units."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from seqc.editor.analysis import Analysis
from seqc.editor.context import Context, Wanted, context_before
from seqc.language.forms import FORMS
from seqc.language.quantities import Dimension
from seqc.language.reference import setting_text, value_words
from seqc.language.tables import SCHEMAS
from seqc.report.language_markdown import setting_markdown

PREFIXES = ("m", "u")


class Kind(Enum):
    """What a suggestion is."""

    KEYWORD = "keyword"
    EXAMPLE = "example"
    SETTING = "setting"
    NAME = "name"
    UNIT = "unit"


@dataclass(frozen=True, slots=True)
class Suggestion:
    """What may be written: `typed` characters of it stand before the cursor already."""

    label: str
    insert: str
    kind: Kind
    typed: int
    detail: str = ""
    text: str = ""


def suggestions(before: str, analysis: Analysis) -> list[Suggestion]:
    """What may follow a text, the best first; what is typed already may be its beginning."""
    context = context_before(before)
    match context.wanted:
        case Wanted.STATEMENT:
            found = _statements(context)
        case Wanted.SETTING:
            found = _settings(context)
        case Wanted.NAME:
            found = _names(context, analysis)
        case Wanted.UNIT:
            found = _units(context)
        case _:
            found = _words(context)
    return list(found)


def _statements(context: Context) -> Iterator[Suggestion]:
    typed = len(context.typed)
    for keyword, form in FORMS.items():
        yield Suggestion(keyword, f"{keyword} ", Kind.KEYWORD, typed, form.head, form.means)
    for keyword, form in FORMS.items():
        label = f"{keyword}: an example"
        yield Suggestion(label, form.example, Kind.EXAMPLE, typed, form.example, form.means)


def _settings(context: Context) -> Iterator[Suggestion]:
    schema = SCHEMAS[context.keyword]
    free = [one for one in schema.entries if one.repeatable or one.key not in context.given]
    for entry in sorted(free, key=lambda one: one.key not in schema.required):
        label = entry.phrase or entry.example
        if label.startswith(context.typed) or " " not in context.typed:
            text = setting_markdown(setting_text(entry, schema))
            insert = f"{label} " if entry.phrase and entry.values else label
            detail = value_words(entry) if entry.phrase else f"the {entry.key}"
            yield Suggestion(label, insert, Kind.SETTING, len(context.typed), detail, text)


def _names(context: Context, analysis: Analysis) -> Iterator[Suggestion]:
    found: dict[str, str] = {}
    for one in analysis.names.declared(*context.kinds):
        found.setdefault(one.word.text, one.keyword)
    for name, keyword in found.items():
        yield Suggestion(name, name, Kind.NAME, len(context.typed), keyword)
    yield from _words(context)


def _words(context: Context) -> Iterator[Suggestion]:
    for word in context.words:
        yield Suggestion(word, word, Kind.KEYWORD, len(context.typed))


def _units(context: Context) -> Iterator[Suggestion]:
    for dimension in context.dimensions:
        for unit in usual_units(dimension):
            yield Suggestion(unit, unit, Kind.UNIT, len(context.typed), dimension.name)


def usual_units(dimension: Dimension) -> list[str]:
    """The units of a dimension as people write them, that of its example first."""
    first = next(iter(dimension.units))
    usual = [dimension.example.split()[1], *dimension.units]
    if first.isalpha() and usual[0] != first:
        usual += [prefix + first for prefix in PREFIXES]
    return list(dict.fromkeys(usual))
