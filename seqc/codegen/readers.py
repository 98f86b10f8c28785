"""Reads the files of a target back into step tables, so that what is written can be proven.

The files may be a stranger's: time and memory grow no faster than their size.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from seqc.codegen.csv_files import from_csv
from seqc.codegen.image import Image, parse
from seqc.codegen.intel_hex import hex_data
from seqc.codegen.json_document import from_json
from seqc.codegen.labels import Labels
from seqc.codegen.number import TRAILER_BYTES, check_one_build
from seqc.codegen.target import Reader, Target
from seqc.codegen.track_labels import TrackLabels
from seqc.machine.findings import Findings, InputError
from seqc.machine.steptable import TableSet
from seqc.machine.tracks import TrackSet

C_IMAGE = re.compile(r"\bseqc_image\[SEQC_IMAGE_BYTES\][^={;]{0,40}= \{\n")
PYTHON_IMAGE = "\nIMAGE = (\n"


def proven(target: Target, files: Mapping[str, str]) -> TableSet | TrackSet | None:
    """What `read_back` finds in files that were rendered for a target.

    Raises InputError, with the place of the reader, where it isn't a whole table set.
    """
    try:
        return read_back(target, files)
    except ValueError as error:
        findings = Findings()
        findings.error(
            "bad-reader",
            f"the reader {target.reader.value!r} doesn't fit what the templates write: {error}",
            target.reader_place,
            "choose the reader of the format, and name its files in 'reads'",
        )
        raise InputError(findings) from error


def read_back(target: Target, files: Mapping[str, str]) -> TableSet | TrackSet | None:
    """The table set that the files of a target hold, or None where it has no reader.

    Raises ValueError where the files don't hold a whole table set of one build, whatever else they
    hold.
    """
    texts = [files[name] for name in target.reads]
    try:
        check_one_build(files)
        return _read(target, texts)
    except (ArithmeticError, AttributeError, LookupError, TypeError, RecursionError) as error:
        raise ValueError(f"not step tables as they were written: {error}") from error


def _read(target: Target, texts: Sequence[str]) -> TableSet | TrackSet | None:
    match target.reader:
        case Reader.JSON:
            return from_json(texts[0])
        case Reader.CSV:
            return from_csv(*texts)
        case Reader.C:
            return _named(texts[0], _c_image(texts[0]))
        case Reader.PYTHON:
            return _named(texts[0], _python_image(texts[0]))
        case Reader.IHEX:
            data = hex_data(texts[0])[:-TRAILER_BYTES]
            return _named(texts[1], parse(data))
        case Reader.NONE:
            return None


def _named(text: str, image: Image) -> TableSet | TrackSet:
    """What an image holds, with the names in the notes of a text."""
    if image.tracks:
        return TrackLabels.found_in(text).named(image)
    return Labels.found_in(text).named(image)


def _c_image(text: str) -> Image:
    found = C_IMAGE.search(text)
    if not found:
        raise ValueError("there is no image in the C source")
    rows = text[found.end() : _end(text, "};", found.end())].split("\n")
    data = bytearray()
    for row in rows:
        if not row.lstrip().startswith("/*"):
            data += bytes.fromhex(row.replace("0x", "").replace(",", ""))
    return parse(bytes(data))


def _python_image(text: str) -> Image:
    start = text.find(PYTHON_IMAGE)
    if start < 0:
        raise ValueError("there is no image in the module")
    start += len(PYTHON_IMAGE)
    data = bytearray()
    for row in text[start : _end(text, "\n)\n", start)].split("\n"):
        if not row.lstrip().startswith("#"):
            digits = row.strip().removeprefix('b"').removesuffix('"')
            data += bytes.fromhex(digits.replace("\\x", ""))
    return parse(bytes(data))


def _end(text: str, sign: str, start: int) -> int:
    end = text.find(sign, start)
    if end < 0:
        raise ValueError("the image has no end")
    return end
