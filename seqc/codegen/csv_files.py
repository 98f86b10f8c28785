"""A build as three CSV files."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Sequence

from seqc.codegen.labels import Fields, frame_of, with_roles, word_of, word_text
from seqc.codegen.names import plain, spreadsheet
from seqc.machine.steptable import Step, StepTable, TableSet, TablesFor

FORMAT = "seqc tables 1"
STEPS_HEAD = ("table", "at_us", "word")
TABLES_HEAD = ("table", "role", "length_us", "shows", "after")
SET_HEAD = ("field", "value")


def csv_files(table_set: TableSet, number: str) -> dict[str, str]:
    """The steps, the tables and the fields of the set as CSV (RFC 4180), with the build number."""
    width = table_set.width
    fields = {
        "format": FORMAT,
        "machine": spreadsheet(table_set.machine),
        "tables_for": table_set.tables_for.value,
        "width": str(width),
        "idle_word": word_text(table_set.idle_word, width),
        "slack_us": str(table_set.slack_us),
        "spare_us": str(table_set.spare_us),
        "repeat_from": "" if table_set.repeat_from is None else str(table_set.repeat_from),
    }
    roles = with_roles(table_set)
    tables = [
        (spreadsheet(t.name), role, str(t.length_us), json.dumps(t.shows), json.dumps(t.after))
        for role, t in roles
    ]
    steps = [
        (spreadsheet(table.name), str(step.at_us), word_text(step.word, width))
        for _, table in roles
        for step in table.steps
    ]
    return {
        "steps": numbered_csv(STEPS_HEAD, steps, number),
        "tables": numbered_csv(TABLES_HEAD, tables, number),
        "set": numbered_csv(SET_HEAD, fields.items(), number),
    }


def numbered_csv(head: Sequence[str], rows: Iterable[Sequence[str]], number: str) -> str:
    """Rows as CSV; the build number is the name of a last column, which is empty."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow((*head, f"seqc build {number}"))
    for row in rows:
        writer.writerow((*row, ""))
    return text.getvalue()


def from_csv(steps: str, tables: str, fields: str) -> TableSet:
    """The table set of the three CSV files."""
    held: dict[str, list[Step]] = {}
    for name, at_us, word in _rows(steps):
        held.setdefault(name, []).append(Step(int(at_us), word_of(word)))
    found = [
        (
            role,
            StepTable(
                plain(name),
                tuple(held[name]),
                int(length_us),
                frame_of(json.loads(shows)),
                frame_of(json.loads(after)),
            ),
        )
        for name, role, length_us, shows, after in _rows(tables)
    ]
    values: dict[str, str] = dict(_rows(fields))
    set_fields = Fields(
        plain(values["machine"]),
        TablesFor(values["tables_for"]),
        int(values["width"]),
        word_of(values["idle_word"]),
        int(values["slack_us"]),
        int(values["spare_us"]),
        int(values["repeat_from"]) if values["repeat_from"] else None,
    )
    return set_fields.assembled(found)


def _rows(text: str) -> list[list[str]]:
    """The rows below the head, without the column of the build number."""
    reader = csv.reader(io.StringIO(text, newline=""))
    next(reader)
    return [row[:-1] for row in reader]
