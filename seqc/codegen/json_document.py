"""A build as one JSON document; `targets/json/schema.json` describes it."""

from __future__ import annotations

import json

from seqc.codegen.labels import Fields, frame_of, with_roles, word_of, word_text
from seqc.codegen.wiring_uses import output_uses
from seqc.machine.model import Machine
from seqc.machine.steptable import Step, StepTable, TableSet, TablesFor

FORMAT = "seqc tables 1"


def json_document(machine: Machine, table_set: TableSet) -> str:
    """The whole build as JSON: the machine's outputs, then every table with its steps.

    Only the build number is missing.
    """
    width = table_set.width
    document = {
        "format": FORMAT,
        "machine": table_set.machine,
        "tables_for": table_set.tables_for.value,
        "width": width,
        "idle_word": word_text(table_set.idle_word, width),
        "slack_us": table_set.slack_us,
        "spare_us": table_set.spare_us,
        "repeat_from": table_set.repeat_from,
        "outputs": _outputs(machine),
        "tables": [
            {
                "name": table.name,
                "role": role,
                "length_us": table.length_us,
                "shows": table.shows,
                "after": table.after,
                "steps": [
                    {"at_us": step.at_us, "word": word_text(step.word, width)}
                    for step in table.steps
                ],
            }
            for role, table in with_roles(table_set)
        ],
    }
    return json.dumps(document, indent=1, ensure_ascii=True)


def with_number(document: str, number: str) -> str:
    """A document with the build number as its first field."""
    return f'{{\n "build": "seqc build {number}",{document[1:]}'


def _outputs(machine: Machine) -> list[dict[str, object]]:
    uses = output_uses(machine)
    return [
        {
            "bit": bus.first + bit,
            "bus": bus.name,
            "bus_bit": bit,
            "active_low": bus.active_low,
            "uses": [{"name": name, "role": role} for name, role in uses.get(bus.first + bit, ())],
        }
        for bus in machine.buses
        for bit in range(bus.bits)
    ]


def from_json(text: str) -> TableSet:
    """The table set of a JSON document."""
    document = json.loads(text)
    tables = [
        (
            entry["role"],
            StepTable(
                entry["name"],
                tuple(Step(step["at_us"], word_of(step["word"])) for step in entry["steps"]),
                entry["length_us"],
                frame_of(entry["shows"]),
                frame_of(entry["after"]),
            ),
        )
        for entry in document["tables"]
    ]
    fields = Fields(
        document["machine"],
        TablesFor(document["tables_for"]),
        document["width"],
        word_of(document["idle_word"]),
        document["slack_us"],
        document["spare_us"],
        document["repeat_from"],
    )
    return fields.assembled(tables)
