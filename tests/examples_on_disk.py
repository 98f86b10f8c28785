"""The examples, read from disk and laid out, for the tests that go the whole way."""

from __future__ import annotations

from pathlib import Path

import seqc
from seqc.examples import example_files
from seqc.machine.findings import Findings
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet, TablesFor


def machine_file(name: str, folder: Path) -> Path:
    """The machine file of an example, with all that it includes, in a folder."""
    files = example_files(name)
    for file, text in files.items():
        (folder / file).write_text(text, "utf-8")
    return folder / next(iter(files))


def machine_of(name: str, folder: Path) -> Machine:
    """The machine of an example."""
    findings = Findings()
    machine = seqc.read(machine_file(name, folder), findings)
    assert not list(findings)
    return machine


def tables_of(machine: Machine, tables_for: TablesFor) -> TableSet:
    """Everything that the first programme of a machine shows, laid out."""
    return seqc.tables(machine, seqc.asked(machine), tables_for)
