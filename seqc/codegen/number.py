"""The build number: eight hexadecimal digits that stand in every file of a build.

It is worked out from the content, so that two builds of the same machine are equal to the byte. A
build that was stopped midway leaves files of two numbers, which neither compile nor are read.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Mapping

from seqc.codegen.intel_hex import hex_data

NO_NUMBER = "00000000"
MARK = re.compile(r"\bseqc build ([0-9A-F]{8})\b")
TRAILER_BYTES = 4


def number_of(builds: Iterable[Mapping[str, str]]) -> str:
    """The number of texts by name that were rendered with NO_NUMBER: a part of their SHA-256."""
    digest = hashlib.sha256()
    for texts in builds:
        for name, text in texts.items():
            for data in (name.encode(), text.encode()):
                digest.update(len(data).to_bytes(8, "little"))
                digest.update(data)
    return digest.hexdigest()[: len(NO_NUMBER)].upper()


def trailer(number: str) -> bytes:
    """The number as it follows on an image in a file that holds bytes alone."""
    return int(number, 16).to_bytes(TRAILER_BYTES, "little")


def number_in(text: str) -> str | None:
    """The number that a file of a build carries, or None where it has none."""
    if text.startswith(":"):
        return hex_data(text)[: -TRAILER_BYTES - 1 : -1].hex().upper()
    found = MARK.search(text)
    return found[1] if found else None


def check_one_build(texts: Mapping[str, str]) -> None:
    """Raise ValueError where files carry different numbers."""
    numbers = {name: number for name, text in texts.items() if (number := number_in(text))}
    first = next(iter(numbers), "")
    for name, number in numbers.items():
        if number != numbers[first]:
            raise ValueError(f"{name} is of build {number} and {first} of build {numbers[first]}")
