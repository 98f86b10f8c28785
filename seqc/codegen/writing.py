"""Writes the files of a build, all of them or none."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from tempfile import TemporaryDirectory

from seqc.codegen.target import FILE_NAME
from seqc.machine.findings import NOWHERE, Findings, InputError, Place

UNFINISHED = ".seqc-build-"
PLACE = re.compile(f"(?:[A-Za-z0-9_]{{1,40}}/)?{FILE_NAME.pattern}")
"""A file of a target, in the target's folder, which may lie in that of a part."""


def write_files(files: Mapping[str, str], out_dir: Path) -> tuple[Path, ...]:
    """Write files by name into a folder, which is made if need be; other files in it stay.

    All files are written beside their places first and put there only when every one is whole; if
    that fails midway, those already put are taken back. A build that was ended where it could do
    nothing about it (by a signal, by power) leaves files of two build numbers at worst, which the
    next one puts right. Raises InputError where the folder can't be written or a name leads out of
    it or to a symbolic link, or while another build writes into it.
    """
    findings = Findings()
    try:
        for name in files:
            _check_place(out_dir, name, findings)
        if not findings.has_errors:
            return _written(files, out_dir)
    except OSError as error:
        message = f"nothing can be written into {out_dir}: {error.strerror}"
        hint = "choose another folder, or see that this one can be written; nothing has changed"
        findings.error("not-written", message, NOWHERE, hint)
    raise InputError(findings)


def _check_place(out_dir: Path, name: str, findings: Findings) -> None:
    if not PLACE.fullmatch(name) or ".." in name:
        findings.error(
            "bad-file-name", f"{name!r} can't be the name of a file", Place(str(out_dir), 1, 1)
        )
        return
    path = out_dir / name
    inside = (out_dir / part for part in Path(name).parents if part != Path("."))
    for place in (path, *inside):
        if place.is_symlink():
            findings.error("symbolic-link", f"{place} is a symbolic link", NOWHERE, "remove it")
            return
    if path.exists() and not path.is_file():
        what = "a folder" if path.is_dir() else "no plain file"
        findings.error("in-the-way", f"{path} is {what}", NOWHERE, "move it away")


def _written(files: Mapping[str, str], out_dir: Path) -> tuple[Path, ...]:
    """Write all files; a failure, be it a stop by hand, leaves no folder that wasn't there."""
    made: list[Path] = []
    try:
        _make_folder(out_dir, made)
        with _alone(out_dir):
            _clear_unfinished(out_dir)
            with TemporaryDirectory(
                prefix=UNFINISHED, dir=out_dir, ignore_cleanup_errors=True
            ) as name:
                fresh = Path(name)
                for file, text in files.items():
                    _write_whole(fresh / "new" / file, text)
                _put_all(files, fresh, out_dir, made)
    except BaseException:
        for folder in reversed(made):
            with contextlib.suppress(OSError):
                folder.rmdir()
        raise
    return tuple(out_dir / name for name in files)


@contextlib.contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """Keep other builds out of a folder, on systems that can; a lock ends with its process."""
    try:
        import fcntl
    except ImportError:
        yield
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        yield
    except BlockingIOError as error:
        raise OSError(error.errno, "another build is writing there") from error
    finally:
        os.close(descriptor)


def _clear_unfinished(folder: Path) -> None:
    """Remove what a build that was ended midway has left."""
    for path in folder.glob(f"{UNFINISHED}*"):
        if path.is_dir() and not path.is_symlink():
            shutil.rmtree(path)


def _make_folder(folder: Path, made: list[Path]) -> None:
    for path in (*reversed(folder.parents), folder):
        if not path.exists():
            path.mkdir()
            made.append(path)


def _write_whole(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("wb") as stream:
        stream.write(text.encode())
        stream.flush()
        os.fsync(stream.fileno())


def _put_all(names: Iterable[str], fresh: Path, out_dir: Path, made: list[Path]) -> None:
    """Move every new file to its place, keeping copies of the old ones until all are there."""
    done: list[tuple[Path, Path]] = []
    try:
        for name in names:
            place, old = out_dir / name, fresh / "old" / name
            _make_folder(place.parent, made)
            old.parent.mkdir(parents=True, exist_ok=True)
            if place.exists():
                shutil.copy2(place, old)
                shutil.copymode(place, fresh / "new" / name)
            done.append((place, old))
            os.replace(fresh / "new" / name, place)
        for folder in dict.fromkeys(place.parent for place, _ in done):
            _store(folder)
    except BaseException:
        for place, old in reversed(done):
            if old.exists():
                os.replace(old, place)
            else:
                place.unlink(missing_ok=True)
        raise


def _store(folder: Path) -> None:
    """Have the names in a folder stored, where the system can be told to."""
    with contextlib.suppress(PermissionError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
