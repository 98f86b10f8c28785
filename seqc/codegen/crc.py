"""The checksum over the tables."""

from __future__ import annotations

from collections.abc import Iterable


def crc16(data: Iterable[int]) -> int:
    """CRC-16 with polynomial x^16 + x^12 + x^5 + 1 (ITU-T V.41), begun with all ones.

    The eight divisions of each byte are done at once: the polynomial's terms are far enough apart.
    """
    remainder = 0xFFFF
    for byte in data:
        mixed = remainder >> 8 ^ byte
        mixed ^= mixed >> 4
        remainder = (remainder << 8 ^ mixed << 12 ^ mixed << 5 ^ mixed) & 0xFFFF
    return remainder
