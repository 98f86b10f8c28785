"""The TextMate grammar for highlighting, from the tables by which files are read."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from typing import Any

from seqc.language.forms import FORMS
from seqc.language.quantities import DIMENSIONS
from seqc.language.tables import SCHEMAS

SCOPE = "source.lanes"
PREFIXES = "QRYZEPTGMKkcmuµμnpfazyrq"


def grammar_text() -> str:
    """The grammar as the JSON text of a `.tmLanguage.json` file."""
    return json.dumps(grammar(), indent=2, ensure_ascii=False) + "\n"


def grammar() -> dict[str, Any]:
    """The grammar: comments, texts, drawings, statements, settings and quantities."""
    return {
        "name": "Lanes",
        "scopeName": SCOPE,
        "fileTypes": ["lanes"],
        "patterns": [
            {"include": f"#{name}"}
            for name in ("comment", "text", "row", "statement", "quantity", "setting", "sign")
        ],
        "repository": {
            "comment": {"match": "#.*$", "name": "comment.line.number-sign.lanes"},
            "text": {
                "match": r'"(?:[^"\\]|\\.)*"',
                "name": "string.quoted.double.lanes",
            },
            "row": {"match": r"\|[^|]*\|", "name": "string.unquoted.row.lanes"},
            "statement": {
                "match": rf"^\s*({_either(FORMS)})\b(?:\s+([A-Za-z_]\w*))?",
                "captures": {
                    "1": {"name": "keyword.control.lanes"},
                    "2": {"name": "entity.name.lanes"},
                },
            },
            "quantity": {
                "match": rf"([+-]?\d+(?:\.\d*)?)(?:\s*((?:[{PREFIXES}]?(?:{_units()}))(?!\w)))?",
                "captures": {
                    "1": {"name": "constant.numeric.lanes"},
                    "2": {"name": "keyword.other.unit.lanes"},
                },
            },
            "setting": {
                "match": rf"\b(?:{_phrases()})\b",
                "name": "support.type.property-name.lanes",
            },
            "sign": {"match": r"<-|->|\+-|=", "name": "keyword.operator.lanes"},
        },
    }


def _either(words: Iterable[str]) -> str:
    return "|".join(re.escape(word) for word in sorted(words, key=lambda word: (-len(word), word)))


def _units() -> str:
    return _either({unit for dimension in DIMENSIONS for unit in dimension.units})


def _phrases() -> str:
    phrases = {phrase for schema in SCHEMAS.values() for phrase in schema.by_phrase}
    spread = sorted(phrases, key=lambda phrase: (-len(phrase), phrase))
    return "|".join(r"\s+".join(map(re.escape, phrase.split())) for phrase in spread)
