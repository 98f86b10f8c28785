"""Reads the numbers of an image one after the other."""

from __future__ import annotations

import struct

PLACES_BYTES = 4


class Cursor:
    """Reads numbers one after the other; raises ValueError where there are fewer than it takes."""

    def __init__(self, data: bytes, at: int) -> None:
        self.data = data
        self.at = at

    def number(self, size: int) -> int:
        """A number of so many bytes; the caller has made sure that they are there."""
        self.at += size
        return int.from_bytes(self.data[self.at - size : self.at], "little")

    def numbers(self, count: int, size: int) -> list[int]:
        """Numbers of so many bytes each."""
        self.need(count, size)
        return [self.number(size) for _ in range(count)]

    def unpacked(self, form: struct.Struct) -> tuple[int, ...]:
        """The fields of a record."""
        self.need(1, form.size)
        self.at += form.size
        return form.unpack_from(self.data, self.at - form.size)

    def masks(self, count: int, word: int) -> list[int]:
        """Sets of outputs of a word of so many bytes."""
        found = []
        self.need(count, PLACES_BYTES)
        for _ in range(count):
            at, byte, other, more = self.numbers(4, 1)
            if max(at, other) >= word:
                raise ValueError("the image names outputs beyond its own")
            found.append(byte << 8 * at | more << 8 * other)
        return found

    def need(self, count: int, size: int) -> None:
        """Refuse an image that has no room for so many records of so many bytes."""
        if count and not 0 < count * size <= len(self.data) - self.at:
            raise ValueError("the image is cut short")
