"""Which files a run reads, for those who wait for one of them to change."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from pathlib import Path

_noted: ContextVar[set[Path] | None] = ContextVar("noted", default=None)


@contextmanager
def noted() -> Iterator[set[Path]]:
    """Gathers every file that is looked for meanwhile, those that aren't there included."""
    files: set[Path] = set()
    token = _noted.set(files)
    try:
        yield files
    finally:
        _noted.reset(token)


def note(path: Path) -> None:
    """Say that a file is looked for."""
    files = _noted.get()
    if files is not None:
        files.add(path.absolute())
