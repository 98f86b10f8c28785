"""Reads the step tables of a folder that a build has written for one target."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from seqc.codegen.readers import read_back
from seqc.codegen.target import Reader, Target
from seqc.machine.findings import Findings, InputError, Place
from seqc.machine.steptable import TableSet
from seqc.machine.tracks import TrackSet

MOST_BYTES = 1 << 26
MOST_SIGNS = 1 << 22
LONGEST_QUOTE = 160


def read_folder(folder: Path, known: Iterable[Target]) -> TableSet | TrackSet:
    """The step tables in a folder: read as the target of its name, or as any whose files it holds.

    Raises InputError when there are none, or when they are not whole.
    """
    able = [target for target in known if target.reader is not Reader.NONE]
    able.sort(key=lambda target: target.name != folder.name)
    findings = Findings()
    for target in able:
        if all((folder / name).is_file() for name in target.reads):
            return _read(folder, target, findings)
    names = ", ".join(sorted({name for target in able for name in target.reads}))
    findings.error(
        "no-tables",
        f"{folder} holds no step tables",
        Place(str(folder), 1, 1),
        f"name the folder that `build` wrote for one target; it holds one of {names}",
    )
    raise InputError(findings)


def _read(folder: Path, target: Target, findings: Findings) -> TableSet | TrackSet:
    place = Place(str(folder / target.reads[0]), 1, 1)
    try:
        there = [file.name for file in target.files if (folder / file.name).is_file()]
        found = read_back(target, {name: _text(folder / name) for name in there})
    # Whatever a reader raises on a damaged file, the file is what is at fault.
    except Exception as error:
        what = f"the step tables can't be read: {str(error)[:LONGEST_QUOTE]}"
        findings.error("bad-tables", what, place, "build them again")
        raise InputError(findings) from error
    assert found is not None
    return found


def _text(path: Path) -> str:
    if path.stat().st_size > MOST_BYTES:
        raise ValueError(f"{path.name} is larger than {MOST_BYTES} bytes")
    text = path.read_text("utf-8")
    if sum(map(text.count, ",[{\n")) > MOST_SIGNS:
        raise ValueError(f"{path.name} holds more than {MOST_SIGNS} values")
    return text
