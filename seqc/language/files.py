"""Reads files and follows includes, within bounds and within one folder."""

from __future__ import annotations

import pathlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from seqc.language.limits import (
    MAX_ALL_CHARACTERS,
    MAX_FILE_BYTES,
    MAX_FILES,
    MAX_INCLUDE_DEPTH,
    MAX_STATEMENTS,
)
from seqc.language.parsing import parse
from seqc.language.source import Source, Statement, Text
from seqc.language.texts import check_text
from seqc.machine.findings import Findings, Place, Related
from seqc.machine.opened import note
from seqc.machine.wording import shown


def read_file(path: pathlib.Path, place: Place, findings: Findings) -> str | None:
    """The text of a file; None where it can't be read, which is reported at `place`."""
    note(path)
    try:
        if not path.is_file():
            name = f"`{shown(str(path))}`"
            there = f"{name} is {'a folder' if path.is_dir() else 'no plain file'}"
            message = there if path.exists() else f"there is no file {name}"
            findings.error("file-not-found", message, place, "check its name and folder")
            return None
        with path.open("rb") as file:
            content = file.read(MAX_FILE_BYTES + 1)
    except OSError as error:
        message = f"`{shown(str(path))}` can't be read: {error.strerror}"
        hint = "check its name, and whether you may read it"
        findings.error("file-not-readable", message, place, hint)
        return None
    if len(content) > MAX_FILE_BYTES:
        message = f"`{shown(str(path))}` is larger than {MAX_FILE_BYTES} bytes"
        findings.error("file-too-large", message, place, "divide it with `include`")
        return None
    return _decoded(content, path, place, findings)


def _decoded(content: bytes, path: pathlib.Path, place: Place, findings: Findings) -> str | None:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        byte = f"line {line} has byte {content[error.start]:#04x}"
        message = f"`{shown(str(path))}` is not a UTF-8 text: {byte}"
        findings.error("file-not-text", message, place, "save it as UTF-8")
        return None


def safe_path(
    name: Text, folder: pathlib.Path, folders: Sequence[pathlib.Path], findings: Findings
) -> pathlib.Path | None:
    """The file of a name that is given in a file in `folder`; it must lie in one of `folders`.

    It is looked for beside the file that names it, and then in every folder but the machine's own.
    """
    if not check_text(name, findings):
        return None
    pure = pathlib.PurePosixPath(name.text)
    windows = pathlib.PureWindowsPath(name.text)
    plain = "\\" not in name.text and not pure.is_absolute() and not windows.drive
    paths = (folder / pure, *(one / pure for one in folders[1:]))
    allowed = [path for path in paths if plain and _lies_in(path, folders)]
    if not allowed:
        message = f"`{name.text}` leads out of the folder of the machine file"
        hint = (
            "name a file in that folder or below it, with `/` between folders, or allow another"
            " folder with `--include DIR`"
        )
        findings.error("file-outside", message, name.place, hint)
        return None
    return next((path for path in allowed if _is_file(path)), allowed[0])


def _is_file(path: pathlib.Path) -> bool:
    try:
        return path.is_file()
    except OSError:
        return False


def _lies_in(path: pathlib.Path, folders: Sequence[pathlib.Path]) -> bool:
    try:
        return any(path.resolve().is_relative_to(folder) for folder in folders)
    except (OSError, RuntimeError):
        return False


@dataclass(frozen=True, slots=True, eq=False)
class _Open:
    """A file whose statements are being read, and the include that led to it."""

    path: pathlib.Path
    folder: pathlib.Path
    statements: Iterator[Statement]
    include: Text | None


def collect(
    text: str, name: str, findings: Findings, allowed: Sequence[pathlib.Path] = ()
) -> Source:
    """The statements of a text and of all that it includes, each file once.

    Files lie in the folder of the text, or in one that the caller has `allowed`.
    """
    return _Collector(text, name, findings, allowed).collect()


class _Collector:
    def __init__(
        self, text: str, name: str, findings: Findings, allowed: Sequence[pathlib.Path]
    ) -> None:
        self.findings = findings
        self.name = name
        path = pathlib.Path(name)
        self.folders = (path.parent.resolve(), *(folder.resolve() for folder in allowed))
        self.seen = {path.resolve()}
        self.whole = True
        self.characters = 0
        self.open: list[_Open] = []
        self.statements: list[Statement] = []
        self._enter(path, text, name, None)

    def collect(self) -> Source:
        while self.open:
            statement = next(self.open[-1].statements, None)
            if statement is None:
                self.open.pop()
            elif statement.keyword == "include":
                self._include(statement)
            else:
                self.statements.append(statement)
        statements = self._bounded()
        whole = self.whole and not any(s.broken and not s.names for s in statements)
        return Source(self.name, self.folders, statements, whole)

    def _enter(self, path: pathlib.Path, text: str, name: str, include: Text | None) -> None:
        self.characters += len(text)
        statements, whole = parse(text, name, self.findings)
        self.whole = self.whole and whole
        self.open.append(_Open(path.resolve(), path.parent, iter(statements), include))

    def _include(self, statement: Statement) -> None:
        if not self._follow(statement.file):
            self.whole = False

    def _follow(self, file: Text | None) -> bool:
        """Read an included file; False where that can't be done, which is reported."""
        if file is None:
            return False
        path = safe_path(file, self.open[-1].folder, self.folders, self.findings)
        if path is None:
            return False
        resolved = path.resolve()
        if any(entry.path == resolved for entry in self.open):
            self._report_loop(file, resolved)
            return True
        if resolved in self.seen:
            return True
        if not self._has_room(file):
            return False
        self.seen.add(resolved)
        text = read_file(path, file.place, self.findings)
        if text is not None:
            self._enter(path, text, str(path), file)
        return text is not None

    def _has_room(self, file: Text) -> bool:
        if len(self.seen) >= MAX_FILES:
            message = f"more than {MAX_FILES} files"
        elif len(self.open) > MAX_INCLUDE_DEPTH:
            message = f"includes nest deeper than {MAX_INCLUDE_DEPTH}"
        elif self.characters > MAX_ALL_CHARACTERS:
            message = f"more than {MAX_ALL_CHARACTERS} characters in all files together"
        else:
            return True
        self.findings.error("too-many-files", message, file.place, "join some of the files")
        return False

    def _report_loop(self, file: Text, resolved: pathlib.Path) -> None:
        first = next(index for index, entry in enumerate(self.open) if entry.path == resolved)
        links = [entry.include for entry in self.open[first + 1 :] if entry.include is not None]
        related = tuple(Related(link.place, f"includes `{link.text}`") for link in links)
        message = f"the include of `{file.text}` closes a loop"
        hint = "take one of the includes out of the loop"
        self.findings.error("include-loop", message, file.place, hint, *related)

    def _bounded(self) -> tuple[Statement, ...]:
        if len(self.statements) > MAX_STATEMENTS:
            message = f"more than {MAX_STATEMENTS} statements in all files together"
            place = self.statements[MAX_STATEMENTS].place
            self.findings.error("too-many-statements", message, place, "divide the machine")
            self.whole = False
        return tuple(self.statements[:MAX_STATEMENTS])
