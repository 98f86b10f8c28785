"""The checksum over the tables."""

from __future__ import annotations

from collections.abc import Iterable

POLYNOMIAL = 0x1021


def crc16(data: Iterable[int]) -> int:
    """CRC-16 with polynomial x^16 + x^12 + x^5 + 1 (ITU-T V.41), begun with all ones."""
    remainder = 0xFFFF
    for byte in data:
        remainder ^= byte << 8
        for _ in range(8):
            remainder <<= 1
            if remainder & 0x10000:
                remainder ^= 0x10000 | POLYNOMIAL
    return remainder
