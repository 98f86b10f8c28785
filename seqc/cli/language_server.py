"""`seqc language-server`: what an editor asks, answered on standard input and output."""

from __future__ import annotations

import click


@click.command("language-server")
@click.option("--grammar", is_flag=True, help="Print the TextMate grammar for highlighting.")
def command(grammar: bool) -> None:
    """Serve an editor over the Language Server Protocol, on standard input and output.

    It needs the extra `editor`: pip install 'seqc[editor]'.
    """
    if grammar:
        from seqc.editor import textmate

        click.echo(textmate.grammar_text(), nl=False)
        return
    try:
        from seqc.editor import server
    except ModuleNotFoundError as error:
        if str(error.name).startswith("seqc"):
            raise
        message = f"{error.name} isn't installed; install it with `pip install 'seqc[editor]'`"
        raise click.UsageError(message) from error
    server.serve()
