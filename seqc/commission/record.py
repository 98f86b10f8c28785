"""The record of a commissioning: what was done, answered and seen, as it happens.

A line of JSON for each, stored at once: whenever the program ends, nothing that was seen is lost. A
record can be taken up again; a line that was being written when the power went is left out.
"""

from __future__ import annotations

import contextlib
import json
import os
import threading
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from seqc.machine.findings import NOWHERE, Findings, InputError, Place

FORMAT = "seqc commissioning 1"
MOST_BYTES = 1 << 28

Entry = Mapping[str, Any]


class Record:
    """A record of one machine, in a file; `entries` are all that it has."""

    def __init__(self, path: Path, machine: str) -> None:
        """Begin a record, or take one up; raises InputError where that can't be."""
        self.path = path
        self._lock = threading.Lock()
        self.entries: list[Entry] = []
        self._stream = None
        try:
            is_new = not path.exists()
            if not is_new:
                self.entries = list(read(path, machine))
            self._stream = path.open("ab")
            if not is_new:
                self._end_torn_line()
        except OSError as error:
            raise _unusable(path, f"the record can't be written: {error.strerror}") from error
        if is_new:
            self.note("record", format=FORMAT, machine=machine)

    def note(self, what: str, **more: object) -> Entry:
        """Write down what has just happened, and have it stored before going on."""
        entry = {"at": datetime.now(UTC).isoformat(timespec="milliseconds"), "what": what, **more}
        with self._lock:
            if self._stream is not None:
                self._stream.write(json.dumps(entry, ensure_ascii=True).encode() + b"\n")
                self._stream.flush()
                os.fsync(self._stream.fileno())
            self.entries.append(entry)
        return entry

    def close(self) -> None:
        """Let go of the file."""
        with self._lock:
            if self._stream is not None:
                self._stream.close()
                self._stream = None

    def _end_torn_line(self) -> None:
        with self.path.open("rb") as stream:
            stream.seek(0, os.SEEK_END)
            if stream.tell() == 0:
                return
            stream.seek(-1, os.SEEK_END)
            whole = stream.read(1) == b"\n"
        if not whole and self._stream is not None:
            self._stream.write(b"\n")


def read(path: Path, machine: str) -> Iterator[Entry]:
    """The entries of a record, lines that aren't whole left out; raises InputError."""
    try:
        if path.stat().st_size > MOST_BYTES:
            raise _unusable(path, "the record is too large to be one")
        lines = path.read_bytes().split(b"\n")
    except OSError as error:
        raise _unusable(path, f"the record can't be read: {error.strerror}") from error
    entries = list(_entries(lines))
    first = entries[0] if entries else {}
    if first.get("format") != FORMAT:
        raise _unusable(path, "the file is no record of a commissioning")
    if first.get("machine") != machine:
        words = f"the record is of machine `{first.get('machine')}`, not of `{machine}`"
        raise _unusable(path, words)
    return iter(entries)


def _entries(lines: list[bytes]) -> Iterator[Entry]:
    for line in lines:
        with contextlib.suppress(ValueError, RecursionError):
            entry = json.loads(line)
            if isinstance(entry, dict) and isinstance(entry.get("what"), str):
                yield entry


def _unusable(path: Path, message: str) -> InputError:
    findings = Findings()
    place = Place(str(path), 1, 1) if path.is_file() else NOWHERE
    findings.error("bad-record", message, place, "give another file with `--record FILE`")
    return InputError(findings)
