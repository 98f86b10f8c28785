"""What long work tells of itself, to whoever listens: what it does, and how far it is.

The listener is set for a stretch of the program, and so for every stage that works within it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TypeVar

T = TypeVar("T")

Listener = Callable[[str, int, int], object]
"""Hears what is done, how many pieces of it are done, and of how many."""

_listener: ContextVar[Listener | None] = ContextVar("listener", default=None)


@contextmanager
def heard(listener: Listener) -> Iterator[None]:
    """Let a listener hear what is told meanwhile."""
    before = _listener.set(listener)
    try:
        yield
    finally:
        _listener.reset(before)


def tell(what: str, done: int, of: int) -> None:
    """Tell the listener, if there is one, how far some work is."""
    listener = _listener.get()
    if listener is not None:
        listener(what, done, of)


def counted(what: str, pieces: Sequence[T]) -> Iterator[T]:
    """The pieces one by one, each told before it is worked on."""
    for done, piece in enumerate(pieces):
        tell(what, done, len(pieces))
        yield piece
