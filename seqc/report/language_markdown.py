"""The reference of the language as Markdown: one page of all, and one setting for an editor."""

from __future__ import annotations

from collections.abc import Iterator

from seqc.language.reference import (
    SettingText,
    StatementText,
    all_statements,
    remarks,
)
from seqc.report.language_text import facts


def page() -> str:
    """All statements with all of their settings."""
    return "\n".join([*_page_lines(), ""])


def _page_lines() -> Iterator[str]:
    yield "# The language"
    yield ""
    yield (
        "Every statement and every setting of a machine file. `seqc language` tells the same in a "
        "terminal; this page is made by `seqc language --markdown`, from the tables by which files "
        "are read."
    )
    yield ""
    yield " · ".join(f"[{one.keyword}](#{one.keyword})" for one in all_statements())
    yield ""
    for remark in remarks():
        yield f"- **{remark.title}.** {remark.text}"
    for one in all_statements():
        yield ""
        yield f"## {one.keyword}"
        yield ""
        yield statement_markdown(one)
        yield from _table(one)


def statement_markdown(one: StatementText) -> str:
    """What a statement declares, and an example."""
    return f"{one.form.means}\n\n```\n{one.form.example}\n```"


def _table(one: StatementText) -> Iterator[str]:
    if not one.settings:
        return
    yield ""
    yield "| setting | what it means | value | default | what it changes |"
    yield "|---|---|---|---|---|"
    for setting in one.settings:
        default = "**needed**" if setting.needed else setting.default
        means = f"{setting.means}{_beside(setting)}"
        cells = (_example(setting), means, setting.value, default, setting.effect)
        yield f"| {' | '.join(cell.replace('|', chr(92) + '|') for cell in cells)} |"


def _example(setting: SettingText) -> str:
    name = "" if setting.example.startswith(setting.title) else f" ({setting.title})"
    return f"`{setting.example}`{name}"


def _beside(setting: SettingText) -> str:
    beside = f" Goes with `{setting.beside}`." if setting.beside else ""
    return f"{beside} May be repeated." if setting.repeatable else beside


def setting_markdown(setting: SettingText) -> str:
    """One setting: its example, what it means, and a fact a line."""
    lines = [f"```\n{setting.example}\n```", "", setting.means, ""]
    needed = [("needed", "without it the block isn't whole")] if setting.needed else []
    return "\n".join(
        [*lines, *(f"- *{label}*: {text}" for label, text in [*needed, *facts(setting)])]
    )
