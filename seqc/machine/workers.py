"""A process for each core, which end at once where the work is stopped."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager


@contextmanager
def workers() -> Iterator[Executor]:
    """An executor of processes; whatever stops the work, such as Ctrl-C, ends them at once.

    Ctrl-C reaches every process of a terminal; the workers leave it to the one that they work for.
    """
    others = set(multiprocessing.active_children())
    pool = ProcessPoolExecutor(os.cpu_count(), initializer=_leave_interrupts)
    try:
        with _interrupts_held():
            pool.submit(int)  # begins the processes, before an interrupt can reach them
        yield pool
    except BaseException:
        pool.shutdown(wait=False, cancel_futures=True)
        own = set(multiprocessing.active_children()) - others
        for child in own:
            child.terminate()
        for child in own:
            child.join()
        raise
    pool.shutdown()


def _leave_interrupts() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)


@contextmanager
def _interrupts_held() -> Iterator[None]:
    """Hold an interrupt back until the end; processes begun meanwhile have it held back too.

    One that came while a process forks would be lost: no error leaves the hooks of a fork.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    held: list[int] = []
    before = signal.signal(signal.SIGINT, lambda number, _: held.append(number))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
    if held:
        signal.raise_signal(held[0])
