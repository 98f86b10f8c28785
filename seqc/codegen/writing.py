"""Writes the files of a build, all of them or none."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path

from seqc.codegen.target import FILE_NAME
from seqc.machine.findings import Findings, InputError, Place


def write_files(files: Mapping[str, str], out_dir: Path) -> tuple[Path, ...]:
    """Write files by name into a folder, which is made if need be; other files in it stay.

    All files are written beside their places first and put there only when every one is whole; if
    that fails midway, those already put are taken back. Raises InputError where the folder can't
    be written or a name leads out of it or to a symbolic link.
    """
    findings = Findings()
    for name in files:
        _check_place(out_dir, name, findings)
    if findings.has_errors:
        raise InputError(findings)
    try:
        return _written(files, out_dir)
    except OSError as error:
        findings.error("not-written", f"{error.strerror}", Place(str(out_dir), 1, 1))
        raise InputError(findings) from error


def _check_place(out_dir: Path, name: str, findings: Findings) -> None:
    if not FILE_NAME.fullmatch(name) or ".." in name:
        findings.error(
            "bad-file-name", f"{name!r} can't be the name of a file", Place(str(out_dir), 1, 1)
        )
        return
    path = out_dir / name
    for place in dict.fromkeys((path, path.parent)):
        if place != out_dir and place.is_symlink():
            findings.error(
                "symbolic-link", f"{place} is a symbolic link", Place(str(path), 1, 1), "remove it"
            )
    if path.is_dir() and not path.is_symlink():
        findings.error("is-a-folder", f"{path} is a folder", Place(str(path), 1, 1))


def _written(files: Mapping[str, str], out_dir: Path) -> tuple[Path, ...]:
    out_dir.mkdir(parents=True, exist_ok=True)
    fresh = Path(tempfile.mkdtemp(prefix=".seqc-", dir=out_dir))
    try:
        for name, text in files.items():
            _write_whole(fresh / "new" / name, text)
        _put_all(files, fresh, out_dir)
    finally:
        shutil.rmtree(fresh, ignore_errors=True)
    return tuple(out_dir / name for name in files)


def _write_whole(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("wb") as stream:
        stream.write(text.encode())
        stream.flush()
        os.fsync(stream.fileno())


def _put_all(names: Iterable[str], fresh: Path, out_dir: Path) -> None:
    """Move every new file to its place, keeping the old ones until all are there."""
    done: list[tuple[Path, Path]] = []
    try:
        for name in names:
            place, old = out_dir / name, fresh / "old" / name
            place.parent.mkdir(exist_ok=True)
            old.parent.mkdir(parents=True, exist_ok=True)
            if place.exists():
                os.link(place, old)
            done.append((place, old))
            os.replace(fresh / "new" / name, place)
    except OSError:
        for place, old in reversed(done):
            if old.exists():
                os.replace(old, place)
            else:
                place.unlink(missing_ok=True)
        raise
