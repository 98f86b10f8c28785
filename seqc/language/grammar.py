"""The parser of machine files: from its grammar, or from a table that was made of it before.

The table saves the time to work it out at every start. It says what it was made of: one that
another grammar or another lark has made is not used, so it can't lag behind.
"""

from __future__ import annotations

import functools
import pickle
from importlib import import_module
from pathlib import Path

import lark
from lark import Lark
from lark.grammar import Rule
from lark.lexer import TerminalDef

FOLDER = Path(import_module("seqc.grammars").__path__[0])
GRAMMAR = FOLDER / "machine.lark"
TABLE = FOLDER / "machine.table"


@functools.cache
def parser() -> Lark:
    """The parser, from the table where that is one of this grammar."""
    text = GRAMMAR.read_text(encoding="utf-8")
    try:
        table = pickle.loads(TABLE.read_bytes())
    except OSError:
        return _worked_out(text)
    if table["made_of"] != (lark.__version__, text):
        return _worked_out(text)
    read: Lark = Lark.load(table)
    return read


def table_of_grammar() -> bytes:
    """What belongs into the table's file."""
    text = GRAMMAR.read_text(encoding="utf-8")
    data, memo = _worked_out(text).memo_serialize([TerminalDef, Rule])
    return pickle.dumps({"made_of": (lark.__version__, text), "data": data, "memo": memo})


def _worked_out(text: str) -> Lark:
    return Lark(text, parser="lalr", maybe_placeholders=False)
