"""Syntax errors in plain words, at the place where the text should have gone on."""

from __future__ import annotations

from collections.abc import Collection

from lark import Token, UnexpectedCharacters, UnexpectedInput, UnexpectedToken

from seqc.language.forms import FORMS, KEYWORDS
from seqc.language.splitting import Stretch
from seqc.machine.findings import Findings, Place, Related
from seqc.machine.wording import did_you_mean, listed, quoted, shown

COMMENT_LIKE = "/;*!"

_IN_WORDS = {
    "WORD": "a name",
    "NUMBER": "a number",
    "STRING": "a text in quotes",
    "ROW": "a row such as `|.##.|`",
    "COMMA": "`,`",
    "PLUSMINUS": "`+-`",
    "LBRACE": "`{`",
    "RBRACE": "`}`",
    "LPAR": "`(`",
    "RPAR": "`)`",
    "EQUAL": "`=`",
    "LARROW": "`<-`",
    "RARROW": "`->`",
    "FOR": "`for` and the name of a grid",
    "FROM": "`from` and the name of a file",
    "ON": "`on` and the cells in braces",
}


def report_syntax_error(
    error: UnexpectedInput, stretch: Stretch, file: str, findings: Findings
) -> None:
    """Report what lark found wrong with a stretch of a file."""
    if isinstance(error, UnexpectedToken):
        _report_token(error, stretch, file, findings)
    else:
        assert isinstance(error, UnexpectedCharacters)
        _report_character(error, stretch, file, findings)


def _report_character(
    error: UnexpectedCharacters, stretch: Stretch, file: str, findings: Findings
) -> None:
    place = Place(file, error.line + stretch.line, error.column)
    character = str(error.char)
    if character == '"':
        hint = 'a text begins and ends with `"` on one line'
        findings.error("unclosed-text", "the text has no closing quote", place, hint)
    elif character == "|":
        hint = "a row is drawn between two bars on one line, such as `|.##.|`"
        findings.error("unclosed-row", "the row has no closing bar", place, hint)
    else:
        shown = f"`{character}`" if character.isprintable() else f"U+{ord(character):04X}"
        message = f"the character {shown} has no meaning here"
        hint = f"expected here: {_expected(error.allowed or ())}"
        if character in COMMENT_LIKE:
            hint += "; a comment begins with `#`"
        findings.error("unknown-character", message, place, hint)


def _report_token(error: UnexpectedToken, stretch: Stretch, file: str, findings: Findings) -> None:
    token, expected = error.token, error.accepts or error.expected
    place = _place_of(error, stretch, file)
    at_end = token.type == "$END"
    if at_end and "RBRACE" in expected:
        _report_unclosed(error, stretch, file, place, findings)
    elif "MACHINE" in expected and token.type == "WORD" and not _follows(error):
        message = f"`{shown(token)}` doesn't begin a statement"
        hint = did_you_mean(token, KEYWORDS, len(KEYWORDS))
        findings.error("unknown-statement", message, place, hint)
    else:
        found = "the statement ends" if at_end else f"found `{shown(token)}`"
        message = f"expected {_expected(expected)}{_after(error)}, but {found}"
        findings.error("unexpected-text", message, place, _hint(error, expected))


def _follows(error: UnexpectedToken) -> bool:
    """Whether the token that doesn't fit stands on the line of the one before it."""
    last = _last(error)
    return last is not None and last.end_line == error.token.line


def _report_unclosed(
    error: UnexpectedToken, stretch: Stretch, file: str, place: Place, findings: Findings
) -> None:
    opened: list[Token] = []
    for value in _values(error):
        if value.type == "LBRACE":
            opened.append(value)
        elif value.type == "RBRACE":
            opened.pop()
    related = Related(_token_place(opened[-1], stretch, file), "opened here")
    message = "the block isn't closed"
    findings.error("unclosed-block", message, place, "write `}` where it ends", related)


def _hint(error: UnexpectedToken, expected: Collection[str]) -> str:
    token = error.token
    if token.type == "ROW":
        return "rows stand in braces of their own, such as `shape { |##| |##| }`"
    if token.type == "RBRACE" and "MACHINE" in expected:
        return "there is one closing brace too many, or an opening one is missing"
    if token.type == "NUMBER" and set(expected) == {"WORD"}:
        return "a name begins with a letter"
    if token == "=" and "RBRACE" in expected:
        return "a setting is written without `=`, such as `columns 4`"
    begun = [value.type.lower() for value in _values(error) if value.type.lower() in FORMS]
    if begun:
        return f"it is written as `{FORMS[begun[-1]].example}`"
    return f"statements begin with {listed(quoted(KEYWORDS))}"


def _expected(terminals: Collection[str]) -> str:
    """What may stand at a place, in plain words."""
    if "MACHINE" in terminals:
        return "a new statement"
    if {"WORD", "RBRACE"} <= set(terminals):
        return "a setting or `}`"
    known = [_IN_WORDS[name] for name in _IN_WORDS if name in terminals]
    return listed(known or ["something else"])


def _after(error: UnexpectedToken) -> str:
    last = _last(error)
    return f" after `{shown(last)}`" if last is not None else ""


def _last(error: UnexpectedToken) -> Token | None:
    """The last token that fits."""
    if error.token.type != "$END":
        return error.token_history[-1] if error.token_history else None
    state = error.interactive_parser.lexer_thread.state
    return state.last_token if state else None


def _place_of(error: UnexpectedToken, stretch: Stretch, file: str) -> Place:
    """The token that doesn't fit, or the end of the one before when it is on an earlier line."""
    last = _last(error)
    if last is None or (error.token.type != "$END" and _follows(error)):
        return _token_place(error.token, stretch, file)
    assert last.end_line is not None
    assert last.end_column is not None
    return Place(file, last.end_line + stretch.line, last.end_column)


def _token_place(token: Token, stretch: Stretch, file: str) -> Place:
    assert token.line is not None
    assert token.column is not None
    return Place(file, token.line + stretch.line, token.column, max(1, len(token)))


def _values(error: UnexpectedToken) -> list[Token]:
    """The tokens that lark has read and not yet put into a tree."""
    parser = error.interactive_parser
    assert parser is not None
    return [value for value in parser.parser_state.value_stack if isinstance(value, Token)]
