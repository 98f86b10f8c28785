"""What a table set holds besides its steps: its fields and the names of its tables."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from seqc.codegen.checks import MOST_OUTPUTS
from seqc.codegen.image import Frame, Image
from seqc.codegen.names import note
from seqc.machine.steptable import StepTable, TableSet, TablesFor

NOTE = re.compile(r"(?:/\*|#) seqc (machine|home|clear|table) ")
LONGEST_WORD = 2 + MOST_OUTPUTS // 4
LONGEST_TIME_US = 1 << 62


@dataclass(frozen=True, slots=True)
class Fields:
    """The fields of a table set besides its tables."""

    machine: str
    tables_for: TablesFor
    width: int
    idle_word: int
    slack_us: int
    spare_us: int
    repeat_from: int | None

    def assembled(self, tables: Iterable[tuple[str, StepTable]]) -> TableSet:
        """The table set of these fields and of tables with their roles.

        Raises ValueError where a number is none or below 0, or a name isn't a text.
        """
        by_role: dict[str, list[StepTable]] = {"home": [], "clear": [], "table": []}
        for role, table in tables:
            by_role[role].append(table)
        (home,) = by_role["home"]
        found = TableSet(
            self.machine,
            self.tables_for,
            self.width,
            self.idle_word,
            self.slack_us,
            home,
            tuple(by_role["table"]),
            self.repeat_from,
            self.spare_us,
            by_role["clear"][0] if by_role["clear"] else None,
        )
        _check_values(found)
        return found


def _check_values(found: TableSet) -> None:
    """Refuse what a file may hold in the place of a number or a name."""
    check_below(MOST_OUTPUTS + 1, found.width)
    check_below(1 << found.width, found.idle_word)
    check_below(LONGEST_TIME_US, found.slack_us, found.spare_us, found.repeat_from or 0)
    check_texts([found.machine])
    for table in found:
        check_table(table, found.width)


def check_table(table: StepTable, width: int) -> None:
    """Refuse times, words and names that are none; raises ValueError."""
    check_below(1 << width, *(step.word for step in table.steps))
    check_below(LONGEST_TIME_US, table.length_us, *(step.at_us for step in table.steps))
    check_texts([table.name, *(n for pair in (*table.shows, *table.after) for n in pair)])


def check_texts(names: Iterable[str]) -> None:
    """Refuse what is no text; raises ValueError."""
    for name in names:
        if not isinstance(name, str):
            raise ValueError("a name is no text")


def check_below(end: int, *numbers: int) -> None:
    """Refuse what isn't a whole number from 0 on and below an end; raises ValueError."""
    for number in numbers:
        if type(number) is not int or not 0 <= number < end:
            raise ValueError(f"a number is not whole, from 0 on and below {end:#x}")


@dataclass(frozen=True, slots=True)
class Label:
    """The name of a table, and the frames it belongs to."""

    role: str
    name: str
    shows: Frame
    after: Frame


@dataclass(frozen=True)
class Labels:
    """All the names of a table set: what its image leaves out."""

    machine: str
    tables: tuple[Label, ...]

    @classmethod
    def of(cls, table_set: TableSet) -> Labels:
        """The names of a table set."""
        found = [Label(role, t.name, t.shows, t.after) for role, t in with_roles(table_set)]
        return cls(table_set.machine, tuple(found))

    def notes(self) -> tuple[str, ...]:
        """One line for the machine and for each table, fit for any comment."""
        rows = [
            f"seqc {label.role} {note([label.name, label.shows, label.after])}"
            for label in self.tables
        ]
        return (f"seqc machine {note(self.machine)}", *rows)

    @classmethod
    def found_in(cls, text: str) -> Labels:
        """The names in the notes of a file."""
        machine = ""
        labels = []
        for line in text.split("\n"):
            found = NOTE.match(line)
            if not found:
                continue
            value = json.loads(line[found.end() :].rstrip().removesuffix("*/"))
            if found[1] == "machine":
                machine = value
                continue
            name, shows, after = value
            labels.append(Label(found[1], name, frame_of(shows), frame_of(after)))
        return cls(machine, tuple(labels))

    def named(self, image: Image) -> TableSet:
        """The table set of an image and these names."""
        runs = image.runs
        if len(runs) != len(self.tables):
            raise ValueError(f"{len(self.tables)} tables are named, {len(runs)} are in the image")
        tables = [
            (label.role, run.table(label.name, label.shows, label.after))
            for label, run in zip(self.tables, runs, strict=True)
        ]
        fields = Fields(
            self.machine,
            image.tables_for,
            image.width,
            image.idle_word,
            image.slack_us,
            image.spare_us,
            image.repeat_from,
        )
        return fields.assembled(tables)


def with_roles(table_set: TableSet) -> list[tuple[str, StepTable]]:
    """Every table with its role: home, clear or table."""
    clear = [("clear", table_set.clear)] if table_set.clear else []
    return [("home", table_set.home), *clear, *(("table", table) for table in table_set.tables)]


def frame_of(pairs: Iterable[Sequence[str]]) -> Frame:
    """A frame from a JSON list of pairs."""
    return tuple((grid, glyph) for grid, glyph in pairs)


def word_of(text: str) -> int:
    """The word in hexadecimal digits; raises ValueError where they are none, or too many."""
    if len(text) > LONGEST_WORD:
        raise ValueError(f"a word has more than {LONGEST_WORD} characters")
    return int(text, 16)


def word_text(word: int, width: int) -> str:
    """A word in hexadecimal, as many digits as its outputs need."""
    return f"0x{word:0{(width + 3) // 4}x}"
