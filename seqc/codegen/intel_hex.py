"""Intel HEX (Hexadecimal Object File Format Specification, revision A, 1988)."""

from __future__ import annotations

from collections.abc import Iterator

BYTES_PER_RECORD = 16
SEGMENT = 1 << 16
DATA, END, UPPER_ADDRESS = 0, 1, 4


def hex_lines(data: bytes) -> Iterator[str]:
    """The records of some bytes from address 0 on; the upper address is given where it changes."""
    for at in range(0, len(data), BYTES_PER_RECORD):
        if at and at % SEGMENT == 0:
            yield _record(0, UPPER_ADDRESS, (at // SEGMENT).to_bytes(2, "big"))
        yield _record(at % SEGMENT, DATA, data[at : at + BYTES_PER_RECORD])
    yield _record(0, END, b"")


def _record(address: int, kind: int, body: bytes) -> str:
    """One record: its bytes, the checksum among them, sum to 0 modulo 256."""
    record = bytes([len(body), *address.to_bytes(2, "big"), kind, *body])
    return ":" + (record + bytes([-sum(record) % 256])).hex().upper()


def hex_data(text: str) -> bytes:
    """The bytes of records that follow one another from address 0 on.

    Raises ValueError for a record whose bytes don't sum to 0 modulo 256, or for a gap.
    """
    data = bytearray()
    base = 0
    for line in text.splitlines():
        record = bytes.fromhex(line.removeprefix(":"))
        if sum(record) % 256:
            raise ValueError(f"the checksum of {line!r} is wrong")
        kind, body = record[3], record[4:-1]
        if kind == UPPER_ADDRESS:
            base = int.from_bytes(body, "big") * SEGMENT
        elif kind == DATA:
            if base + int.from_bytes(record[1:3], "big") != len(data):
                raise ValueError(f"{line!r} does not follow the record before it")
            data += body
    return bytes(data)
