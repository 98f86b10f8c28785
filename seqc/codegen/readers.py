"""Reads the files of a target back into step tables, so that what is written can be proven."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from seqc.codegen.csv_files import from_csv
from seqc.codegen.image import Image, parse
from seqc.codegen.intel_hex import hex_data
from seqc.codegen.json_document import from_json
from seqc.codegen.labels import Labels
from seqc.codegen.target import Reader, Target
from seqc.machine.steptable import TableSet

C_IMAGE = re.compile(r"\bseqc_image\[SEQC_IMAGE_BYTES\][^={]*= \{(.*?)\};", re.DOTALL)
C_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
C_BYTE = re.compile(r"0x([0-9A-F]{2})")
PYTHON_BYTE = re.compile(r"\\x([0-9a-f]{2})")
PYTHON_IMAGE = re.compile(r"^IMAGE = \(\n(.*?)^\)$", re.DOTALL | re.MULTILINE)


def read_back(target: Target, files: Mapping[str, str]) -> TableSet | None:
    """The table set that the files of a target hold, or None where it has no reader.

    Raises ValueError where the files don't hold a whole table set, whatever else they hold.
    """
    texts = [files[name] for name in target.reads]
    try:
        return _read(target, texts)
    except (ArithmeticError, AttributeError, LookupError, TypeError, RecursionError) as error:
        raise ValueError(f"not step tables as they were written: {error}") from error


def _read(target: Target, texts: Sequence[str]) -> TableSet | None:
    match target.reader:
        case Reader.JSON:
            return from_json(texts[0])
        case Reader.CSV:
            return from_csv(*texts)
        case Reader.C:
            return Labels.found_in(texts[0]).named(_c_image(texts[0]))
        case Reader.PYTHON:
            return Labels.found_in(texts[0]).named(_python_image(texts[0]))
        case Reader.IHEX:
            return Labels.found_in(texts[1]).named(parse(hex_data(texts[0])))
        case Reader.NONE:
            return None


def _c_image(text: str) -> Image:
    found = C_IMAGE.search(text)
    if not found:
        raise ValueError("there is no image in the C source")
    return parse(bytes(int(byte, 16) for byte in C_BYTE.findall(C_COMMENT.sub("", found[1]))))


def _python_image(text: str) -> Image:
    found = PYTHON_IMAGE.search(text)
    if not found:
        raise ValueError("there is no image in the module")
    return parse(bytes(int(byte, 16) for byte in PYTHON_BYTE.findall(found[1])))
