"""The reference of the language as text for people."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from seqc.language.reference import (
    SettingText,
    all_statements,
    remarks,
    statement_text,
)
from seqc.machine.wording import listed, nearest, quoted

LABEL = 11


def overview_lines(width: int) -> Iterator[str]:
    """Every statement with what it declares, and what holds for all of them."""
    longest = max(len(one.keyword) for one in all_statements())
    yield "Statements"
    for one in all_statements():
        yield from _hanging(f"  {one.keyword:<{longest}}  ", _first_sentence(one.form.means), width)
    yield ""
    yield "In every statement"
    longest = max(len(remark.title) for remark in remarks())
    for remark in remarks():
        yield from _hanging(f"  {remark.title:<{longest}}  ", remark.text, width)
    yield ""
    yield "`seqc language STATEMENT` tells its settings, `seqc language STATEMENT SETTING` one."


def statement_lines(keyword: str, width: int) -> Iterator[str]:
    """A statement with all of its settings: what is needed first."""
    one = statement_text(keyword)
    yield one.form.head
    yield from _folded(one.form.means, 2, width)
    yield ""
    yield f"  {one.form.example}"
    needed = [setting for setting in one.settings if setting.needed]
    free = [setting for setting in one.settings if not setting.needed]
    for title, settings in (("Needed", needed), ("May be left out", free)):
        if settings:
            yield ""
            yield title
            for setting in settings:
                yield from setting_lines(setting, width)


def setting_lines(setting: SettingText, width: int) -> Iterator[str]:
    """A setting: an example, what it means, and a fact a line."""
    name = "" if setting.example.startswith(setting.title) else f"  (the {setting.title})"
    yield f"  {setting.example}{name}"
    yield from _folded(setting.means, 6, width)
    for label, text in facts(setting):
        yield from _hanging(f"      {label:<{LABEL}}", text, width)


def facts(setting: SettingText) -> list[tuple[str, str]]:
    """What is told of a setting besides its meaning, each with its label."""
    told = [
        ("value", setting.value),
        ("default", setting.default),
        ("changes", setting.effect),
        ("goes with", f"`{setting.beside}`" if setting.beside else ""),
        ("instead", listed(quoted(setting.others)) if setting.others else ""),
        ("repeated", "as often as needed" if setting.repeatable else ""),
    ]
    return [(label, text) for label, text in told if text]


def keywords() -> tuple[str, ...]:
    """The keywords of all statements."""
    return tuple(one.keyword for one in all_statements())


def known(keyword: str, title: str | None) -> str | None:
    """What is wrong with the name of a statement, or of one of its settings; None if nothing."""
    if keyword not in keywords():
        return _unknown("statement", keyword, keywords())
    titles = [setting.title for setting in statement_text(keyword).settings]
    if title is not None and title not in titles:
        return _unknown(f"setting of `{keyword}`", title, titles)
    return None


def _unknown(what: str, word: str, words: Sequence[str]) -> str:
    if not words:
        return f"`{word}` is no {what}: it has none"
    near = nearest(word, words)
    hint = f"did you mean `{near}`?" if near else f"there are {listed(quoted(words), 'and')}"
    return f"`{word}` is no {what}; {hint}"


def named_setting(keyword: str, title: str) -> SettingText:
    """The setting of that title."""
    settings = statement_text(keyword).settings
    return next(setting for setting in settings if setting.title == title)


def _first_sentence(text: str) -> str:
    return text.partition(". ")[0].removesuffix(".") + "."


def _folded(text: str, indent: int, width: int) -> list[str]:
    return _hanging(" " * indent, text, width)


def _hanging(first: str, text: str, width: int) -> list[str]:
    indent = " " * len(first)
    return textwrap.wrap(
        text, width, initial_indent=first, subsequent_indent=indent, break_on_hyphens=False
    )
