"""Targets: folders with a description and templates, ours and the user's own."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import Enum
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from seqc.machine.findings import NOWHERE, Findings, InputError, Place

DESCRIPTION = "target.toml"
FILE_NAME = re.compile(r"(?:[A-Za-z0-9_]{1,40}/)?[A-Za-z0-9_][A-Za-z0-9_.-]{0,80}")
FOLDER_NAME = re.compile(r"[A-Za-z0-9_][A-Za-z0-9_-]{0,39}")
MOST_DESCRIPTION_BYTES = 1 << 16
MOST_FILES = 64
LONGEST_TEXT = 200
TOML_PLACE = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)")

Option = str | int | bool


class Reader(Enum):
    """How the files of a target are read back into step tables, if they can be."""

    NONE = "none"
    JSON = "json"
    CSV = "csv"
    C = "c"
    PYTHON = "python"
    IHEX = "ihex"

    @property
    def files(self) -> int:
        """How many files it reads."""
        return {Reader.NONE: 0, Reader.CSV: 3, Reader.IHEX: 2}.get(self, 1)


@dataclass(frozen=True, slots=True)
class TargetFile:
    """A file to write and the template that it is written from."""

    name: str
    template: str


@dataclass(frozen=True, slots=True)
class Budget:
    """What a controller has, and what the player itself takes of it, in bytes.

    `tracks_flash_bytes` is what it takes besides to play tracks, `track_ram_bytes` that for each.
    """

    flash_bytes: int
    ram_bytes: int
    player_flash_bytes: int
    player_ram_bytes: int
    tracks_flash_bytes: int = 0
    track_ram_bytes: int = 0


@dataclass(frozen=True)
class Target:
    """One kind of controller or document that step tables can be written for.

    `reads` are the names of the files that the reader needs; `options` go to the templates as they
    are; `budget` is None where the controller's size is not known. `tracks` are the files that are
    written besides for grids that change independently, or None where the target can't play them.
    `foreign` is a target that is not ours, so that its templates are not trusted.
    """

    name: str
    title: str
    summary: str
    reader: Reader
    reads: tuple[str, ...]
    files: tuple[TargetFile, ...]
    folder: Traversable
    budget: Budget | None = None
    options: Mapping[str, Option] = field(default_factory=dict)
    reader_place: Place = NOWHERE
    foreign: bool = False
    tracks: tuple[TargetFile, ...] | None = None

    def files_for(self, tracks: bool) -> tuple[TargetFile, ...]:
        """The files that are written for step tables, or for tracks."""
        return (*self.files, *((self.tracks or ()) if tracks else ()))


def targets(extra: Path | None = None) -> tuple[Target, ...]:
    """Every target by name: our own, and those in the folder `extra`, which replace ours.

    `extra` is a folder of target folders, or one target folder itself. Raises InputError where a
    description can't be used.
    """
    findings = Findings()
    ours = {folder.name: folder for folder in _folders(files("seqc.targets"))}
    theirs = _extra_folders(extra, findings) if extra is not None else {}
    found = [
        _read(folder, name in theirs, findings) for name, folder in sorted((ours | theirs).items())
    ]
    if findings.has_errors:
        raise InputError(findings)
    return tuple(target for target in found if target)


def linked(path: Path, root: Path) -> Findings | None:
    """What is wrong where a symbolic link stands on the way from a folder to a file in it."""
    for place in (path, *path.parents):
        if place == root:
            return None
        if place.is_symlink():
            findings = Findings()
            where = Place(str(place), 1, 1)
            hint = "put the file itself there: what a target is made of lies in its folder"
            findings.error("symbolic-link", f"{place} is a symbolic link", where, hint)
            return findings
    return None


def _extra_folders(extra: Path, findings: Findings) -> dict[str, Path]:
    root = extra.resolve()
    folders = _folders(root) if extra.is_dir() else ()
    found = {folder.name: Path(str(folder)) for folder in folders}
    for name, folder in found.items():
        if not FOLDER_NAME.fullmatch(name):
            message = f"{name!r} can't be the name of a target"
            findings.error("bad-target", message, Place(str(folder), 1, 1), "rename the folder")
        link = linked(folder / DESCRIPTION, folder if folder == root else root)
        findings.extend(link or ())
    if findings.has_errors:
        return {}
    if not found:
        findings.error(
            "no-target",
            f"{extra} has no target in it",
            Place(str(extra), 1, 1),
            f"a target is a folder with a file {DESCRIPTION}",
        )
    return found


def _folders(root: Traversable) -> Iterator[Traversable]:
    if root.joinpath(DESCRIPTION).is_file():
        yield root
        return
    for folder in root.iterdir():
        if folder.is_dir() and folder.joinpath(DESCRIPTION).is_file():
            yield folder


def _read(folder: Traversable, foreign: bool, findings: Findings) -> Target | None:
    source = folder.joinpath(DESCRIPTION)
    text = ""
    try:
        with source.open("rb") as stream:
            data = stream.read(MOST_DESCRIPTION_BYTES + 1)
        if len(data) > MOST_DESCRIPTION_BYTES:
            raise ValueError(f"the description is larger than {MOST_DESCRIPTION_BYTES} bytes")
        text = data.decode()
        table = tomllib.loads(text)
    except UnicodeDecodeError:
        findings.error("bad-target", "the description is not UTF-8", Place(str(source), 1, 1))
        return None
    except OSError as error:
        message = f"the description can't be read: {error.strerror}"
        findings.error("bad-target", message, Place(str(source), 1, 1))
        return None
    except RecursionError:
        findings.error("bad-target", "it nests too deeply", Place(str(source), 1, 1))
        return None
    except ValueError as error:
        findings.error("bad-target", *_toml_fault(str(source), text, str(error)))
        return None
    return _Description(folder, foreign, text, table, findings).target()


def _toml_fault(name: str, text: str, message: str) -> tuple[str, Place]:
    spot = TOML_PLACE.search(message)
    line = text.count("\n") + 1 if spot else 1
    column = 1
    if spot and spot.group(1):
        line, column = int(spot.group(1)), int(spot.group(2))
    return TOML_PLACE.sub("", message), Place(name, line, column)


class _Description:
    """Takes a parsed description apart and reports what is wrong with it."""

    def __init__(
        self,
        folder: Traversable,
        foreign: bool,
        text: str,
        table: dict[str, Any],
        findings: Findings,
    ) -> None:
        self.folder = folder
        self.foreign = foreign
        self.lines = text.splitlines()
        self.table = table
        self.findings = findings
        self.broken = False

    def target(self) -> Target | None:
        known = {"title", "summary", "reader", "reads", "files", "tracks", "budget", "options"}
        self.refuse_unknown(self.table, known, "")
        title = self.text("title")
        summary = self.text("summary")
        reader = self.reader()
        written = self.files("files") or ()
        tracks = self.files("tracks")
        reads = self.reads({file.name for file in written}, reader)
        budget = self.budget()
        options = self.options()
        if self.broken:
            return None
        return Target(
            self.folder.name,
            title,
            summary,
            reader,
            reads,
            written,
            self.folder,
            budget,
            options,
            self.place("reader"),
            self.foreign,
            tracks,
        )

    def error(self, message: str, key: str, hint: str = "") -> None:
        self.broken = True
        self.findings.error("bad-target", message, self.place(key), hint)

    def place(self, key: str) -> Place:
        """The line that sets a key, or the first of the file."""
        name = str(self.folder.joinpath(DESCRIPTION))
        spelt = re.compile(rf'\s*\[*\s*(["\']?){re.escape(key)}\1\s*[=\]]')
        for number, line in enumerate(self.lines, 1):
            if key and spelt.match(line):
                return Place(name, number, line.index(key) + 1, len(key))
        return Place(name, 1, 1)

    def refuse_unknown(self, table: Mapping[str, Any], known: set[str], where: str) -> None:
        for key in table:
            if key not in known:
                keys = ", ".join(sorted(known))
                self.error(f"unknown key {key!r}{where}", key, f"the keys are {keys}")

    def text(self, key: str) -> str:
        found = self.table.get(key)
        if not isinstance(found, str) or not found.strip():
            self.error(f"{key!r} must be given as a text", key)
            return ""
        if len(found) > LONGEST_TEXT or not found.isprintable():
            message = f"{key!r} must be one line of at most {LONGEST_TEXT} characters that print"
            self.error(message, key)
        return found

    def reader(self) -> Reader:
        found = self.table.get("reader", "none")
        readers = {reader.value: reader for reader in Reader}
        if found not in list(readers):
            self.error(
                f"there is no reader {found!r}", "reader", f"the readers are {', '.join(readers)}"
            )
        return readers.get(str(found), Reader.NONE)

    def files(self, key: str) -> tuple[TargetFile, ...] | None:
        found = self.table.get(key)
        if found is None and key != "files":
            return None
        if not isinstance(found, dict) or (not found and key == "files"):
            self.error(f"{key!r} must give a template for each file to write", key)
            return ()
        if len(found) > MOST_FILES:
            self.error(f"{key!r} has {len(found)} files, more than {MOST_FILES}", key)
            return ()
        for name, template in found.items():
            if not FILE_NAME.fullmatch(name) or ".." in name:
                self.error(f"{name!r} can't be the name of a file to write", name)
            if not isinstance(template, str) or not FILE_NAME.fullmatch(template):
                self.error(f"the template of {name!r} must be the name of a file", name)
        return tuple(TargetFile(name, str(template)) for name, template in found.items())

    def reads(self, written: set[str], reader: Reader) -> tuple[str, ...]:
        found = self.table.get("reads", [])
        if not isinstance(found, list) or not all(isinstance(name, str) for name in found):
            self.error("'reads' must be a list of file names", "reads")
            return ()
        for name in found:
            if name not in written:
                self.error(f"'reads' names {name!r}, which is not written", "reads")
        if len(found) != reader.files:
            message = f"the reader {reader.value!r} reads {reader.files} files, not {len(found)}"
            self.error(message, "reads" if found else "reader")
        return tuple(found)

    def budget(self) -> Budget | None:
        found = self.table.get("budget")
        if found is None:
            return None
        keys = set(Budget.__dataclass_fields__)
        if not isinstance(found, dict):
            self.error("'budget' must be a table", "budget")
            return None
        self.refuse_unknown(found, keys, " in 'budget'")
        for key in sorted(keys):
            size = found.get(key, Budget.__dataclass_fields__[key].default)
            if not isinstance(size, int) or isinstance(size, bool) or size < 0:
                self.error(f"{key!r} must be a number of bytes", key)
        return None if self.broken else Budget(**found)

    def options(self) -> dict[str, Option]:
        found = self.table.get("options", {})
        if not isinstance(found, dict):
            self.error("'options' must be a table", "options")
            return {}
        for key, value in found.items():
            if not isinstance(value, str | int | bool):
                self.error(f"option {key!r} must be a text, a whole number or true or false", key)
        return dict(found)
