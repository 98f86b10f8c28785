"""What may stand at a place in a text that is being written, from what stands before it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from lark import Token, UnexpectedCharacters

from seqc.language.declared import Art
from seqc.language.grammar import parser
from seqc.language.quantities import Dimension
from seqc.language.schema import Entry, Measure, Plain, Schema, ValueKind
from seqc.language.settings import segments
from seqc.language.source import Comma, Number, Piece, PlusMinus, Statement, Text, Word
from seqc.language.splitting import stretches
from seqc.language.tables import SCHEMAS
from seqc.machine.findings import NOWHERE

STATIONS = ("item", "selector", "gate")


class Wanted(Enum):
    """What kind of thing may stand at a place."""

    NOTHING = "nothing that is known"
    STATEMENT = "a statement"
    NAME = "a name"
    SETTING = "a setting"
    UNIT = "a unit"
    JOINT = "a word of the statement"


@dataclass(frozen=True, slots=True)
class Context:
    """What may stand at a place.

    `typed` is how much of it stands there already. Of names `kinds` are the keywords of their
    declarations, of units `dimensions` what they measure, of settings `given` the keys that the
    block has.
    """

    wanted: Wanted
    typed: str = ""
    keyword: str = ""
    kinds: tuple[str, ...] = ()
    dimensions: tuple[Dimension, ...] = ()
    given: frozenset[str] = frozenset()
    words: tuple[str, ...] = ()


NOTHING = Context(Wanted.NOTHING)


def context_before(text: str) -> Context:
    """What may stand at the end of a text."""
    stretch = stretches(text)[-1].text
    tokens = _tokens(stretch)
    if tokens is None:
        return NOTHING
    typed = ""
    if tokens and tokens[-1].type in ("WORD", "NUMBER") and stretch[-1:].strip():
        typed = str(tokens.pop())
    if not tokens:
        return NOTHING if typed.isdigit() else Context(Wanted.STATEMENT, typed)
    depth = _depth(tokens)
    keyword = str(tokens[0])
    if depth == 0 and tokens[-1].type == "RBRACE":
        return Context(Wanted.STATEMENT, typed)
    if depth == 0:
        return _in_head(keyword, tokens[1:], typed)
    if depth > 1 or keyword not in SCHEMAS:
        return NOTHING
    return _in_block(keyword, _pieces(tokens), typed)


def _tokens(stretch: str) -> list[Token] | None:
    """The words and signs of a stretch; None within a comment or a text, or after nonsense."""
    found: list[Token] = []
    try:
        found.extend(parser().lex(stretch, dont_ignore=True))
    except UnexpectedCharacters:
        return None
    if found and found[-1].type == "COMMENT":
        return None
    return [token for token in found if token.type != "COMMENT" and not token.isspace()]


def _depth(tokens: Sequence[Token]) -> int:
    opened = sum(token.type == "LBRACE" for token in tokens)
    return max(0, opened - sum(token.type == "RBRACE" for token in tokens))


def _in_head(keyword: str, tokens: Sequence[Token], typed: str) -> Context:
    """What may stand between a keyword and its block."""
    last = str(tokens[-1]) if tokens else ""
    kinds: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    match keyword, last:
        case "lane", "":
            kinds = ("grid",)
        case "lane", "=" | "<-" | "(" | ",":
            kinds = STATIONS
            words = () if any(token == "(" for token in tokens[-1:]) else ("shown",)
        case "lane", _ if "shown" in tokens[:-1] and "on" not in tokens:
            words = ("on",)
        case "path", "":
            kinds = ("gate",)
        case "path", "->":
            kinds, words = ("gate",), ("shown",)
        case "drive", "" | ",":
            kinds = ("selector", "gate")
        case "font", "for":
            kinds = ("grid",)
        case "font", _ if len(tokens) in (1, 3):
            words = ("for",) if len(tokens) == 1 else ("from",)
    if kinds:
        return Context(Wanted.NAME, typed, keyword, kinds, words=words)
    return Context(Wanted.JOINT, typed, keyword, words=words) if words else NOTHING


def _pieces(tokens: Sequence[Token]) -> tuple[Piece, ...]:
    """What stands in a block that isn't closed, as pieces without places."""
    first = next(rank for rank, token in enumerate(tokens) if token.type == "LBRACE")
    pieces: list[Piece] = []
    art = False
    for token in tokens[first + 1 :]:
        match token.type:
            case "LBRACE":
                art = True
                pieces.append(Art((), (), NOWHERE))
            case "RBRACE":
                art = False
            case "WORD" if not art:
                pieces.append(Word(str(token), NOWHERE))
            case "NUMBER" if not art:
                pieces.append(Number(str(token), NOWHERE))
            case "STRING" if not art:
                pieces.append(Text(str(token)[1:-1], NOWHERE))
            case "COMMA" if not art:
                pieces.append(Comma(NOWHERE))
            case "PLUSMINUS" if not art:
                pieces.append(PlusMinus(NOWHERE))
    return tuple(pieces)


def _in_block(keyword: str, pieces: tuple[Piece, ...], typed: str) -> Context:
    schema = SCHEMAS[keyword]
    found = list(segments(Statement(keyword, NOWHERE, pieces=pieces)))
    given = frozenset(one.entry.key for one in found if one.entry)
    last = found[-1] if found else None
    if last is None:
        return Context(Wanted.SETTING, typed, keyword, given=given)
    if last.entry is None:
        begun = _begun(last.pieces, schema)
        if begun:
            return Context(Wanted.SETTING, f"{begun} {typed}", keyword, given=given)
        if isinstance(last.pieces[-1], Number) and schema.bare_entries:
            kinds = tuple(entry.values[0] for entry in schema.bare_entries)
            measured = tuple(kind.dimension for kind in kinds if isinstance(kind, Measure))
            return Context(Wanted.UNIT, typed, keyword, dimensions=measured)
        return Context(Wanted.SETTING, typed, keyword, given=given)
    after = last.pieces[len(last.entry.phrase.split()) :]
    return _in_value(last.entry, after, Context(Wanted.SETTING, typed, keyword, given=given))


def _begun(pieces: Sequence[Piece], schema: Schema) -> str:
    """The longest run of words at the end that begins a phrase which goes on."""
    for first in range(len(pieces)):
        words = [piece.text for piece in pieces[first:] if isinstance(piece, Word)]
        begun = " ".join(words)
        whole = len(words) == len(pieces) - first
        if whole and any(phrase.startswith(f"{begun} ") for phrase in schema.by_phrase):
            return begun
    return ""


def _in_value(entry: Entry, after: Sequence[Piece], settled: Context) -> Context:
    """What the next value of a setting is, or what follows when it has all of them."""
    at = 0
    for kind in entry.values:
        if at >= len(after):
            return _value(kind, entry, settled)
        if isinstance(kind, Measure) and at + 1 >= len(after):
            return Context(
                Wanted.UNIT, settled.typed, settled.keyword, dimensions=(kind.dimension,)
            )
        at += 2 if isinstance(kind, Measure) else 1
    if isinstance(after[-1] if after else None, Comma | PlusMinus):
        return NOTHING
    return settled


def _value(kind: ValueKind, entry: Entry, settled: Context) -> Context:
    match kind:
        case Plain.NAME:
            return Context(Wanted.NAME, settled.typed, settled.keyword, entry.refers)
        case _:
            return NOTHING
