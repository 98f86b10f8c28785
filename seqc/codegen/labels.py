"""What a table set holds besides its steps: its fields and the names of its tables."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from seqc.codegen.image import Frame, Image
from seqc.codegen.names import note
from seqc.machine.steptable import Layout, StepTable, TableSet

NOTE = re.compile(r"^(?:/\*|#) seqc (machine|home|clear|table) (.*?)(?: \*/)?\s*$", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Fields:
    """The fields of a table set besides its tables."""

    machine: str
    layout: Layout
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
            self.layout,
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
    numbers = [found.width, found.idle_word, found.slack_us, found.spare_us, found.repeat_from or 0]
    names = [found.machine]
    for table in found:
        numbers += [table.length_us, *(n for step in table.steps for n in (step.at_us, step.word))]
        names += [table.name, *(n for pair in (*table.shows, *table.after) for n in pair)]
    for number in numbers:
        if type(number) is not int or number < 0:
            raise ValueError(f"{number!r} is not a whole number from 0 on")
    for name in names:
        if not isinstance(name, str):
            raise ValueError(f"{name!r} is not a name")


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
        for role, value in NOTE.findall(text):
            if role == "machine":
                machine = json.loads(value)
                continue
            name, shows, after = json.loads(value)
            labels.append(Label(role, name, frame_of(shows), frame_of(after)))
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
            image.layout,
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


def word_text(word: int, width: int) -> str:
    """A word in hexadecimal, as many digits as its outputs need."""
    return f"0x{word:0{(width + 3) // 4}x}"
