"""`seqc language`: the statements and settings of a machine file, and what they mean."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Iterable, Sequence

import click

from seqc.cli.common import json_option, print_json

PIPE_WIDTH = 80


def _statements(_ctx: click.Context, _param: click.Parameter, incomplete: str) -> list[str]:
    """The statements that a shell may complete a word to."""
    from seqc.report.language_text import keywords

    return [keyword for keyword in keywords() if keyword.startswith(incomplete)]


@click.command("language")
@click.argument("statement", metavar="[STATEMENT]", required=False, shell_complete=_statements)
@click.argument("setting", metavar="[SETTING]", nargs=-1)
@click.option("--markdown", is_flag=True, help="Print the whole reference as Markdown.")
@json_option
def command(statement: str | None, setting: Sequence[str], markdown: bool, as_json: bool) -> None:
    """Tell what a machine file may hold: every statement, the settings of one, or one setting.

    `seqc language`, `seqc language coil`, `seqc language coil pull in`.
    """
    from seqc.report import language_document, language_markdown, language_text

    title = " ".join(setting) or None
    wrong = None if statement is None else language_text.known(statement, title)
    if wrong:
        raise click.UsageError(wrong)
    if as_json:
        print_json(language_document.language_document(statement))
    elif markdown:
        click.echo(language_markdown.page(), nl=False)
    elif statement is None:
        _echo(language_text.overview_lines(_width()))
    elif title is None:
        _echo(language_text.statement_lines(statement, _width()))
    else:
        one = language_text.named_setting(statement, title)
        _echo(language_text.setting_lines(one, _width()))


def _echo(lines: Iterable[str]) -> None:
    for line in lines:
        click.echo(line)


def _width() -> int:
    """The width of the terminal, or that of a page in a pipe."""
    return shutil.get_terminal_size().columns if sys.stdout.isatty() else PIPE_WIDTH
