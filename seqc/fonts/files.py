"""Opens font files, within bounds."""

from __future__ import annotations

import gzip
import io
import pathlib
import zlib

from seqc.fonts.bitmap import BitmapFont, FontFileError
from seqc.machine.opened import note

MOST_MIB = 16
MOST_BYTES = MOST_MIB << 20
GZIP_MAGIC = b"\x1f\x8b"
BDF_MAGIC = b"STARTFONT"


def open_font(path: pathlib.Path) -> BitmapFont:
    """The glyphs of a font file, compressed by gzip or not: BDF, or any format that monobit reads.

    Raises FontFileError for a file that is missing, unreadable, too large or not a font.
    """
    data, name = _content(path), path.name
    if data.startswith(GZIP_MAGIC):
        data, name = _unpacked(data), name.removesuffix(".gz")
    if data.startswith(BDF_MAGIC):
        from seqc.fonts.bdf import read_bdf

        return read_bdf(data)
    from seqc.fonts.foreign import read_foreign

    return read_foreign(data, name)


def _content(path: pathlib.Path) -> bytes:
    note(path)
    try:
        if not path.is_file():
            raise FontFileError("is not a file" if path.exists() else "is missing")
        with path.open("rb") as file:
            return _bounded(file.read(MOST_BYTES + 1))
    except OSError as error:
        raise FontFileError(f"can't be read: {error.strerror}") from error


def _unpacked(data: bytes) -> bytes:
    try:
        with gzip.open(io.BytesIO(data)) as file:
            return _bounded(file.read(MOST_BYTES + 1))
    except (OSError, EOFError, zlib.error) as error:
        raise FontFileError("can't be unpacked: it is cut off or damaged") from error


def _bounded(data: bytes) -> bytes:
    if len(data) > MOST_BYTES:
        raise FontFileError(f"is larger than {MOST_MIB} MiB, the most that is read")
    return data
