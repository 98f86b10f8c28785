"""The line to a controller: asked and answered, kept alive, and taken up again when it was lost.

A thread of its own reads the port and asks for the status now and then, since a controller whose
line is silent stops. What it hears goes to a listener.
"""

from __future__ import annotations

import contextlib
import itertools
import threading
import time
from collections.abc import Callable
from functools import partial
from typing import NamedTuple

from seqc.commission.ports import LostError, Port
from seqc.commission.protocol import (
    GARBLED,
    LONGEST_ANSWER,
    MOST_NUMBERS,
    STOP,
    Answer,
    answer,
    command,
)

MOVING = ("busy", "homing")
SILENCE_S = 2
"""A controller stops when it has heard nothing for so long."""

ASK_EVERY_S = 0.25
READ_S = 0.02
PATIENCE_S = 0.5
TRIES = 4
RETRY_S = 0.5
WAKE_S = 4.0
"""Some controllers are reset when their port is opened, and need so long until they answer."""


class Heard(NamedTuple):
    """What is known of the controller now; `lost` says why nothing is, `garbage` counts lines."""

    answer: Answer | None = None
    lost: str = "not connected yet"
    garbage: int = 0

    @property
    def state(self) -> str:
        """What the player is doing, or `lost`."""
        return "lost" if self.answer is None or self.lost else self.answer.state


class Link:
    """A line that is opened by `open_port`; `hear` is told of every change, on the own thread."""

    def __init__(self, open_port: Callable[[], Port], hear: Callable[[Heard], None]) -> None:
        self.heard = Heard()
        self.identity: Answer | None = None
        self._open, self._tell = open_port, hear
        self._port: Port | None = None
        self._numbers = itertools.cycle(range(1, MOST_NUMBERS))
        self._awaited: dict[int, Answer | None] = {}
        self._came = threading.Condition()
        self._buffer = b""
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)

    def start(self) -> None:
        """Open the port, and open it again whenever it is lost, until `close`."""
        self._thread.start()

    def close(self) -> None:
        """Stop the controller, let go of the port."""
        with contextlib.suppress(LostError):
            self.stop()
        self._over.set()
        if self._thread.is_alive():
            self._thread.join()

    def stop(self) -> None:
        """Send the byte that stops, before anything else; raises LostError."""
        if self._port is None:
            raise LostError(self.heard.lost)
        self._port.write(STOP)

    def ask(self, text: str) -> Answer:
        """The answer to a command, sent again where one is lost or garbled; raises LostError.

        A command is obeyed at most once: sent again, a table that is playing is answered `busy`.
        """
        for _ in range(TRIES):
            number = next(self._numbers)
            with self._came:
                self._awaited[number] = None
                self._send(command(number, text))
                self._came.wait_for(partial(self._is_over, number), PATIENCE_S)
                found = self._awaited.pop(number)
            if found is not None and found.word != GARBLED:
                return found
        raise LostError(self.heard.lost or "the controller doesn't answer")

    def _is_over(self, number: int) -> bool:
        return self._awaited[number] is not None or self._port is None

    def _send(self, data: bytes) -> None:
        if self._port is None:
            raise LostError(self.heard.lost)
        self._port.write(data)

    def _run(self) -> None:
        while not self._over.is_set():
            try:
                self._port = self._open()
                self._serve(self._port)
            except LostError as error:
                self._lose(str(error))
                self._over.wait(RETRY_S)
        self._lose("closed")

    def _lose(self, why: str) -> None:
        port, self._port = self._port, None
        if port is not None:
            with contextlib.suppress(LostError):
                port.close()
        with self._came:
            self._came.notify_all()
        if self.heard.lost != why:
            self._now(self.heard._replace(lost=why))

    def _serve(self, port: Port) -> None:
        """Greet the controller, then read and keep it alive until the line is lost."""
        self._buffer = b""
        self._greet(port)
        asked_s = heard_s = time.monotonic()
        while not self._over.is_set():
            if self._take(port.read(READ_S)):
                heard_s = time.monotonic()
            now_s = time.monotonic()
            if now_s - asked_s > ASK_EVERY_S:
                asked_s = now_s
                port.write(command(next(self._numbers), "status all"))
            if now_s - heard_s > SILENCE_S:
                raise LostError("the controller doesn't answer")

    def _greet(self, port: Port) -> None:
        """Ask who it is until it answers, and have it mind the line's silence.

        What it is doing nobody has asked for since the line is up: it is stopped.
        """
        self.identity = None
        until = time.monotonic() + WAKE_S
        while self.identity is None and time.monotonic() < until and not self._over.is_set():
            port.write(b"\n" + command(next(self._numbers), "identify"))
            again = time.monotonic() + RETRY_S
            while self.identity is None and time.monotonic() < again:
                self._take(port.read(READ_S))
        if self.identity is None:
            raise LostError("no controller of ours answers")
        if self.identity.state in MOVING:
            port.write(STOP)
        for text in (f"timeout {SILENCE_S}", "notify on", "status all"):
            port.write(command(next(self._numbers), text))
            self._take(port.read(READ_S))

    def _take(self, data: bytes) -> bool:
        """Take what has come apart into lines; whether any of them is an answer."""
        *lines, rest = (self._buffer + data).split(b"\n")
        self._buffer = rest[-LONGEST_ANSWER:]
        found = False
        for line in lines:
            said = answer(line)
            if said is not None:
                found = True
                self._answered(said)
            elif line.strip():
                self._now(self.heard._replace(garbage=self.heard.garbage + 1))
        return found

    def _answered(self, said: Answer) -> None:
        if said.word == "identify":
            self.identity = said
        # What hears of changes hears of this one before whoever asked goes on.
        self._now(Heard(said, "", self.heard.garbage))
        with self._came:
            if said.number in self._awaited:
                self._awaited[said.number] = said
                self._came.notify_all()

    def _now(self, heard: Heard) -> None:
        self.heard = heard
        self._tell(heard)
