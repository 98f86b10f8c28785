"""Reads the pieces of a block as settings, after the tables of phrases."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from seqc.language.declared import Art
from seqc.language.limits import MAX_BLOCK_ERRORS
from seqc.language.quantities import unit_of
from seqc.language.schema import Entry, Plain
from seqc.language.source import Comma, Number, Piece, Statement, Word
from seqc.language.tables import SCHEMAS
from seqc.language.tolerances import TolerantReader
from seqc.language.values import POINT, Amount, Cursor, Value, joined
from seqc.machine.findings import Findings, Place, Related
from seqc.machine.wording import did_you_mean, listed, nearest, quoted


@dataclass(frozen=True, slots=True)
class Setting:
    """A setting as given; a value that could not be read is left out, and so are all after it."""

    entry: Entry
    place: Place
    values: tuple[Value, ...] = ()


@dataclass(frozen=True)
class Settings:
    """The settings of one block, in the order in which they stand.

    `sound` tells that all of them are known, readable and within bounds, and none is missing.
    """

    given: tuple[Setting, ...]
    sound: bool

    def all(self, key: str) -> list[Setting]:
        """Every setting with a key."""
        return [setting for setting in self.given if setting.entry.key == key]

    def get(self, key: str) -> Setting | None:
        """The first setting with a key."""
        return next(iter(self.all(key)), None)

    def phrase(self, key: str) -> str | None:
        """Which of the phrases with a key is given."""
        setting = self.get(key)
        return setting.entry.phrase if setting else None

    def value(self, key: str) -> Value | None:
        """The first value of a key."""
        setting = self.get(key)
        return setting.values[0] if setting and setting.values else None

    def amount(self, key: str) -> Amount | None:
        """A quantity or a count with its place."""
        value = self.value(key)
        return value if isinstance(value, Amount) else None

    def integer(self, key: str) -> int | None:
        """A quantity or a count in the model's small unit."""
        amount = self.amount(key)
        return amount.value if amount else None

    def needed(self, key: str) -> int:
        """The integer of a required key of sound settings."""
        value = self.integer(key)
        assert value is not None
        return value

    def word(self, key: str) -> Word | None:
        """A name."""
        value = self.value(key)
        return value if isinstance(value, Word) else None

    def art(self, key: str) -> Art | None:
        """Drawn rows."""
        value = self.value(key)
        return value if isinstance(value, Art) else None


@dataclass(frozen=True, slots=True)
class Segment:
    """The pieces of one setting; of those that aren't understood the entry is None."""

    entry: Entry | None
    pieces: tuple[Piece, ...]


def segments(statement: Statement) -> Iterator[Segment]:
    """All pieces in the block of a statement, parted as its settings are read."""
    return _BlockReader(statement, Findings()).segments()


def read_settings(statement: Statement, findings: Findings) -> Settings:
    """The settings in the block of a statement; whatever is wrong with them is reported."""
    return _BlockReader(statement, findings).read()


class _BlockReader:
    def __init__(self, statement: Statement, findings: Findings) -> None:
        self.statement = statement
        self.findings = findings
        self.schema = SCHEMAS[statement.keyword]
        self.cursor = Cursor(statement.pieces, self.schema)
        self.values = TolerantReader(self.cursor, self.report)
        self.given: list[Setting] = []
        self.meant: set[str] = set()
        self.errors = 0
        self.entry: Entry | None = None

    def read(self) -> Settings:
        while (piece := self.cursor.peek()) and self.errors < MAX_BLOCK_ERRORS:
            self._read_at(piece)
        if self.errors < MAX_BLOCK_ERRORS:
            self._require()
        return Settings(tuple(self.given), self.errors == 0)

    def segments(self) -> Iterator[Segment]:
        """The pieces that are read as one setting each, or skipped together."""
        while piece := self.cursor.peek():
            start, self.entry = self.cursor.at, None
            self._read_at(piece)
            yield Segment(self.entry, tuple(self.cursor.pieces[start : self.cursor.at]))

    def report(
        self, code: str, message: str, place: Place, hint: str = "", *related: Related
    ) -> None:
        self.errors += 1
        self.findings.error(code, message, place, hint, *related)

    def _read_at(self, piece: Piece) -> None:
        if isinstance(piece, Word):
            entry = self.cursor.phrase()
            if entry is None:
                self._unknown(piece)
            else:
                words = len(entry.phrase.split())
                place = _span(self.cursor.pieces[self.cursor.at : self.cursor.at + words])
                self.cursor.at += words
                self._setting(entry, place)
        elif isinstance(piece, Number):
            self._bare(piece)
        elif isinstance(piece, Comma) and self._lists_names():
            self._several_names(piece)
        else:
            hint = "a setting's word comes before its value, and no comma between settings"
            self.cursor.at += 1
            self.report("stray-value", "this belongs to no setting", piece.place, hint)

    def _lists_names(self) -> bool:
        """Whether a comma stands between names, of which a setting takes but one."""
        last = self.given[-1] if self.given else None
        named = last is not None and last.values and last.entry.values == (Plain.NAME,)
        return bool(named) and isinstance(self.cursor.peek(1), Word)

    def _several_names(self, comma: Comma) -> None:
        """Report a list of names after a setting that takes one, and skip it."""
        entry = self.given[-1].entry
        names = []
        while isinstance(self.cursor.peek(), Comma) and isinstance(
            name := self.cursor.peek(1), Word
        ):
            names.append(name.text)
            self.cursor.at += 2
        hint = f"leave out {listed(quoted(names), 'and')}"
        if entry.repeatable:
            begins = 'show "12" ' if "show" in self.schema.by_phrase else ""
            first = self.given[-1].values[0]
            each = [first.text if isinstance(first, Word) else "", *names]
            hint = f"write `{'  '.join(f'{begins}{entry.phrase} {name}' for name in each)}`"
        message = f"`{entry.phrase}` takes one name"
        self.report("several-names", message, comma.place, hint)

    def _setting(self, entry: Entry, place: Place) -> None:
        self.entry = entry
        values: list[Value] = []
        for kind in entry.values:
            value = self.values.read(entry, kind, place)
            if value is None:
                break
            values.append(value)
        self._add(Setting(entry, place, tuple(values)))

    def _bare(self, number: Number) -> None:
        """A quantity without a phrase: its dimension tells what it is."""
        self.cursor.at += 1
        word = self.cursor.unit()
        unit = unit_of(word.text) if word else None
        entry = self.schema.bare(unit.dimension) if unit else None
        if entry is not None:
            self.cursor.at -= 1
            self._setting(entry, number.place)
            return
        text = joined(number, word).text if word else number.text
        fitting = [e for e in self.schema.entries if unit and e.measures(unit.dimension)]
        fitting = fitting or list(self.schema.bare_entries)
        if len(fitting) == 1 or unit is None:
            self.meant.update(entry.key for entry in fitting)
        hint = f"known here: {', '.join(quoted(self.schema.by_phrase))}"
        if self.cursor.decimal_comma():
            hint = POINT
        elif fitting:
            hint = f"write {listed(quoted(entry.example for entry in fitting))}"
        self.report("stray-value", f"`{text}` belongs to no setting", number.place, hint)
        self.cursor.skip_values()

    def _unknown(self, word: Word) -> None:
        further = [p for p in self.schema.by_phrase if p.startswith(f"{word.text} ")]
        if further:
            whole = listed(quoted(further))
            message = f"`{word.text}` alone is not a setting: it goes on as {whole}"
            examples = listed(quoted(self.schema.by_phrase[phrase].example for phrase in further))
            self.report("incomplete-setting", message, word.place, f"write {examples}")
            self.meant.update(self.schema.by_phrase[phrase].key for phrase in further)
        else:
            self._unknown_setting(word)
        self.cursor.at += 1
        self.cursor.skip_values()

    def _unknown_setting(self, word: Word) -> None:
        phrases = tuple(self.schema.by_phrase)
        near = nearest(word.text, phrases)
        if near:
            self.meant.add(self.schema.by_phrase[near].key)
        message = f"`{self.statement.keyword}` has no setting `{word.text}`"
        self.report(
            "unknown-setting", message, word.place, did_you_mean(word.text, phrases, len(phrases))
        )

    def _add(self, setting: Setting) -> None:
        entry = setting.entry
        before = next((s for s in self.given if s.entry.key == entry.key), None)
        if before is None or entry.repeatable:
            self.given.append(setting)
            return
        related = Related(before.place, "first given here")
        if before.entry.phrase == entry.phrase:
            message = f"{entry.title} is given twice"
            self.report("repeated-setting", message, setting.place, "leave one out", related)
        else:
            message = f"{before.entry.title} and {entry.title} exclude each other"
            self.report("excluded-setting", message, setting.place, "leave one out", related)

    def _require(self) -> None:
        present = {setting.entry.key for setting in self.given} | self.meant
        for key in self.schema.required:
            if key not in present:
                self._missing(key)

    def _missing(self, key: str) -> None:
        entries = self.schema.of(key)
        title = key if len(entries) > 1 else entries[0].title.removeprefix("the ")
        message = f"{self.statement} has no {title}"
        hint = f"add {listed(quoted(entry.example for entry in entries))}"
        self.report("missing-setting", message, self.statement.name.place, hint)


def _span(pieces: Sequence[Piece]) -> Place:
    """The place of the words of a phrase, as far as they stand on one line."""
    first, last = pieces[0].place, pieces[-1].place
    if first.line != last.line:
        return first
    return Place(first.file, first.line, first.column, last.column + last.length - first.column)
