"""Commands and answers on the line, as `seqc_line.h` of every build describes them."""

from __future__ import annotations

import re
from typing import NamedTuple

STOP = b"!"
"""The byte that stops, in the interrupt that hears it."""

UNASKED = "now"
GARBLED = "garbled"
STATES = ("off", "homing", "ready", "busy", "paused", "stopped", "fault")
MOST_NUMBERS = 100_000
LONGEST_ANSWER = 200

ANSWER = re.compile(
    r"(?:(?P<number>[0-9]{1,5}):)?(?P<word>[a-z]{2,8}) (?P<state>[a-z]{3,7}) "
    r"(?P<seen>-|[0-9]{1,5}) (?P<checksum>[0-9A-F]{4})(?P<more>(?: [!-~]+)*)"
)


class Answer(NamedTuple):
    """One line from the controller; `number` is None where it wasn't asked for, or stops."""

    number: int | None
    word: str
    state: str
    seen: int | None
    checksum: int
    more: tuple[str, ...] = ()

    @property
    def cause(self) -> str:
        """Of the answer to `status all`, why there was a fault last."""
        return self.more[4] if self.word == "status" and len(self.more) == 5 else ""

    @property
    def tables_for(self) -> str:
        """Of the answer to `identify`, what the tables are for."""
        return self.more[1] if self.word == "identify" and len(self.more) == 4 else ""

    @property
    def machine(self) -> str:
        """Of the answer to `identify`, the name of the machine as an identifier."""
        return self.more[0] if self.word == "identify" and len(self.more) == 4 else ""


def check_of(text: str) -> str:
    """The sum of all bytes modulo 256, in two hexadecimal digits."""
    return f"{sum(text.encode('ascii')) & 255:02X}"


def command(number: int, text: str) -> bytes:
    """A command with its number and its check, so that no other is obeyed in its place."""
    body = f"{number}:{text}"
    return f"{body};{check_of(body)}\n".encode("ascii")


def answer(line: bytes) -> Answer | None:
    """What a line says; None where it is garbage, or its check is wrong."""
    text = line.decode("ascii", "replace").strip()
    body, marked, told = text.rpartition(";")
    if marked and told != check_of(body.encode("ascii", "replace").decode("ascii")):
        return None
    found = ANSWER.fullmatch(body if marked else text)
    if found is None or found["state"] not in STATES:
        return None
    if found["number"] and not marked:
        return None
    return Answer(
        int(found["number"]) if found["number"] else None,
        found["word"],
        found["state"],
        None if found["seen"] == "-" else int(found["seen"]),
        int(found["checksum"], 16),
        tuple(found["more"].split()),
    )
