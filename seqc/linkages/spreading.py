"""Work shared out: here, on every core, or on a cluster; the answers come in order."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from typing import Protocol, TypeVar

A = TypeVar("A")
B = TypeVar("B")

FEW_CELLS = 12
"""Up to so many cells a search is over before another process has begun."""


class Spread(Protocol):
    """Applies a function to each piece of work, wherever."""

    def __call__(self, function: Callable[[A], B], work: Iterable[A], /) -> Iterable[B]:
        """The answers, in the order of the work."""


@contextmanager
def cores(executor: Executor | None, cells: int) -> Iterator[Spread]:
    """Spreads over an executor of `concurrent.futures`; without one over every core if it pays."""
    if executor is not None:
        yield executor.map
    elif cells <= FEW_CELLS:
        yield map
    else:
        with ProcessPoolExecutor(os.cpu_count()) as own:
            yield own.map
