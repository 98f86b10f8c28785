"""Reads the values of settings: quantities, counts, names, texts and drawn rows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

from seqc.language.declared import Art
from seqc.language.quantities import Dimension, in_words, unit_of
from seqc.language.schema import Count, Entry, Measure, Plain, Ratio, Schema, ValueKind
from seqc.language.source import Comma, Number, Piece, PlusMinus, Text, Word
from seqc.machine.findings import Place
from seqc.machine.span import Tolerance
from seqc.machine.wording import meant, nearest


class Amount(NamedTuple):
    """A quantity or count in the model's small unit, how it was written, and its own tolerance."""

    value: int
    text: str
    place: Place
    tolerance: Tolerance | None = None


class Amounts(NamedTuple):
    """A list of counts."""

    each: tuple[Amount, ...]


MILLION = 1_000_000

POINT = "a decimal fraction is written with a point, such as `8.2`"

Value = Amount | Amounts | Word | Text | Art
Report = Callable[[str, str, Place, str], None]
"""Takes a code, a message, a place and a hint."""


class Cursor:
    """Walks over the pieces of a block."""

    def __init__(self, pieces: Sequence[Piece], schema: Schema) -> None:
        self.pieces = pieces
        self.schema = schema
        self.at = 0

    def peek(self, ahead: int = 0) -> Piece | None:
        """The next piece, or one after it; None behind the end."""
        at = self.at + ahead
        return self.pieces[at] if at < len(self.pieces) else None

    def phrase(self) -> Entry | None:
        """The entry with the longest phrase that begins here."""
        for length in range(self.schema.longest, 0, -1):
            words = [p.text for p in self.pieces[self.at : self.at + length] if isinstance(p, Word)]
            if len(words) == length and (entry := self.schema.by_phrase.get(" ".join(words))):
                return entry
        return None

    def starts_setting(self) -> bool:
        """Whether a phrase begins here and its first value, if it has one, can follow it."""
        entry = self.phrase()
        if entry is None:
            return False
        after = self.peek(len(entry.phrase.split()))
        return not entry.values or fits(after, entry.values[0])

    def is_flag(self) -> bool:
        """Whether a setting of one word and without a value stands here."""
        entry = self.phrase()
        return entry is not None and not entry.values and " " not in entry.phrase

    def decimal_comma(self) -> bool:
        """Whether a comma stands here as if it were a decimal point."""
        return isinstance(self.peek(), Comma) and isinstance(self.peek(1), Number)

    def skip_values(self) -> None:
        """Skip what belongs to a setting that can't be read, up to where the next may begin."""
        numbers = 0
        while (piece := self.peek()) is not None and not self.starts_setting():
            numbers += isinstance(piece, Number)
            if numbers > 1 and self.schema.bare_entries:
                break
            self.at += 1

    def unit(self) -> Word | None:
        """The word here if it may be a unit, since it isn't the beginning of a setting."""
        piece = self.peek()
        return piece if isinstance(piece, Word) and not self.starts_setting() else None


def fits(piece: Piece | None, kind: ValueKind) -> bool:
    """Whether a piece can begin a value of some kind."""
    match kind:
        case Measure() | Count() | Ratio():
            return isinstance(piece, Number)
        case Plain.NAME | Plain.WORD:
            return isinstance(piece, Word)
        case Plain.TEXT:
            return isinstance(piece, Text)
        case Plain.ART:
            return isinstance(piece, Art)


def wanted(kind: ValueKind) -> str:
    """What kind of value is wanted, in words."""
    match kind:
        case Measure(dimension):
            return dimension.name
        case Count():
            return "a whole number"
        case Ratio():
            return "a number"
        case Plain():
            return kind.value


class ValueReader:
    """Reads values at a cursor and reports what is wrong with them."""

    def __init__(self, cursor: Cursor, report: Report) -> None:
        self.cursor = cursor
        self.report = report

    def read(self, entry: Entry, kind: ValueKind, after: Place) -> Value | None:
        """The value of an entry that should stand here; `after` is the place of its phrase."""
        piece = self.cursor.peek()
        clash = kind is Plain.NAME and self.cursor.starts_setting()
        if clash and isinstance(piece, Word) and self.cursor.is_flag():
            self.cursor.at += 1
            message = f"`{piece.text}` can't be a name after `{entry.phrase}`: it is a setting here"
            hint = f"give what is called so another name, such as `{piece.text}_`"
            self.report("name-is-setting", message, piece.place, hint)
            return None
        if not fits(piece, kind) or clash:
            hint = f"write `{entry.example}`"
            self.report("missing-value", f"{entry.title} needs {wanted(kind)}", after, hint)
            self.cursor.skip_values()
            return None
        match kind:
            case Measure():
                return self.measure(entry, kind)
            case Count(several=True):
                return self._counts(entry, kind)
            case Count():
                return self._count(entry, kind)
            case Ratio():
                return self._ratio(entry, kind)
            case Plain():
                self.cursor.at += 1
                assert not isinstance(piece, Number | Comma | PlusMinus)
                return piece

    def _number(self) -> Number:
        piece = self.cursor.peek()
        assert isinstance(piece, Number)
        self.cursor.at += 1
        return piece

    def measure(self, entry: Entry, kind: Measure) -> Amount | None:
        """A quantity that stands here; None is reported."""
        number, word = self._number(), self.cursor.unit()
        dimension = kind.dimension
        if word is None:
            message = f"`{number.text}` has no unit, but {entry.title} is {dimension}"
            self.report("missing-unit", message, number.place, self._hint(entry))
            self.cursor.skip_values()
            return None
        self.cursor.at += 1
        unit = unit_of(word.text)
        if unit is None:
            self._unknown_unit(word, entry, dimension)
            return None
        amount = joined(number, word)
        if unit.dimension is not dimension:
            message = f"{entry.title} is {dimension}, but `{amount.text}` is {unit.dimension}"
            hint = f"write `{entry.example}`"
            self.report("wrong-dimension", message, amount.place, hint)
            return None
        return self._within(entry, kind, amount, float(number.text) * unit.size)

    def _hint(self, entry: Entry) -> str:
        return POINT if self.cursor.decimal_comma() else f"write `{entry.example}`"

    def _unknown_unit(self, word: Word, entry: Entry, dimension: Dimension) -> None:
        known = [prefix + unit for unit in dimension.units for prefix in ("", "m", "u", "k")]
        near = nearest(word.text, known)
        hint = meant(near) if near else f"write `{entry.example}`"
        message = f"`{word.text}` is not a unit of {dimension.noun}"
        self.report("unknown-unit", message, word.place, hint)

    def _plain_number(self, entry: Entry) -> Number:
        """A number; a unit behind it is reported."""
        number = self._number()
        word = self.cursor.unit()
        if word is not None and unit_of(word.text):
            self.cursor.at += 1
            message = f"{entry.title} is a plain number, without a unit"
            self.report("needless-unit", message, word.place, f"leave out `{word.text}`")
        return number

    def _ratio(self, entry: Entry, kind: Ratio) -> Amount | None:
        number = self._plain_number(entry)
        amount = Amount(0, number.text, number.place)
        return self._within(entry, kind, amount, float(number.text) * MILLION)

    def _count(self, entry: Entry, kind: Count) -> Amount | None:
        number = self._plain_number(entry)
        amount = Amount(0, number.text, number.place)
        if not float(number.text).is_integer():
            message = f"{entry.title} is a whole number, but `{number.text}` isn't"
            self.report("not-whole", message, number.place, f"write `{entry.example}`")
            return None
        return self._within(entry, kind, amount, float(number.text))

    def _counts(self, entry: Entry, kind: Count) -> Amounts | None:
        counts = [self._count(entry, kind)]
        uncut: Number | None = None
        while isinstance(piece := self.cursor.peek(), Comma | Number):
            if isinstance(piece, Number):
                uncut = uncut or piece
            else:
                self.cursor.at += 1
            if not isinstance(self.cursor.peek(), Number):
                message = f"{entry.title} needs a further number after the comma"
                self.report("missing-value", message, piece.place, "leave out the comma")
                return None
            counts.append(self._count(entry, kind))
        sound = tuple(amount for amount in counts if amount is not None)
        if uncut is not None:
            message = f"there is no comma between `{uncut.text}` and the number before it"
            hint = f"write `{entry.phrase} {', '.join(amount.text for amount in sound)}`"
            self.report("missing-comma", message, uncut.place, hint)
            return None
        return Amounts(sound) if len(sound) == len(counts) else None

    def _within(
        self, entry: Entry, kind: Measure | Count | Ratio, amount: Amount, value: float
    ) -> Amount | None:
        if kind.low - 0.5 < value < kind.high + 0.5:
            return Amount(round(value), amount.text, amount.place)
        low, high = (self._bound(bound, kind) for bound in (kind.low, kind.high))
        message = f"{entry.title} must be between {low} and {high}, not {amount.text}"
        self.report("out-of-range", message, amount.place, f"a common value is `{entry.example}`")
        return None

    def _bound(self, bound: int, kind: Measure | Count | Ratio) -> str:
        match kind:
            case Measure(dimension):
                return in_words(bound, dimension)
            case Ratio():
                return f"{bound / MILLION:g}"
            case Count():
                return str(bound)


def joined(number: Number, unit: Word) -> Amount:
    """A number and its unit as one stretch of text; its value is not yet known."""
    place, end = number.place, unit.place
    length = end.column + end.length - place.column if end.line == place.line else place.length
    return Amount(
        0, f"{number.text} {unit.text}", Place(place.file, place.line, place.column, length)
    )
