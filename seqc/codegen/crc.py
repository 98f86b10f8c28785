"""The checksum over the tables."""

from __future__ import annotations

import binascii


def crc16(data: bytes) -> int:
    """CRC-16 with polynomial x^16 + x^12 + x^5 + 1 (ITU-T V.41), begun with all ones."""
    return binascii.crc_hqx(data, 0xFFFF)
