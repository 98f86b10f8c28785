"""The command `seqc`: finds the subcommand, loading no other."""

from __future__ import annotations

import errno
import importlib
import io
import os
import sys
from typing import Any

import click

from seqc.cli.common import STOPPED, UNUSABLE, findings_document, print_json
from seqc.machine.findings import NOWHERE, Findings

COMMANDS = (
    "check",
    "plan",
    "build",
    "simulate",
    "forecast",
    "report",
    "watch",
    "commission",
    "diagnose",
    "linkages",
    "format",
    "language",
    "language-server",
    "demo",
)


class LazyGroup(click.Group):
    """A group whose commands live in modules of their own, each loaded when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """The commands, in the order of the work."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """The command of that name, or None."""
        if cmd_name not in COMMANDS:
            return None
        command = importlib.import_module(f"seqc.cli.{cmd_name.replace('-', '_')}").command
        assert isinstance(command, click.Command)
        return command

    def invoke(self, ctx: click.Context) -> Any:  # noqa: ANN401
        """Run a command; one that can't be understood, or can't print, ends with its status."""
        ctx.obj = as_json = "--json" in ctx.args
        try:
            return super().invoke(ctx)
        except click.UsageError as error:
            if not as_json:
                raise
            print_json({"findings": _document_of(error)})
        except OSError as error:
            if error.errno == errno.EPIPE:
                raise
            click.echo(f"error: {error.strerror}", err=True)
        except KeyboardInterrupt:
            click.echo("stopped", err=True)
            sys.exit(STOPPED)
        sys.exit(UNUSABLE)


def _document_of(error: click.UsageError) -> list[dict[str, Any]]:
    findings = Findings()
    hint = f"try {error.ctx.command_path} --help" if error.ctx else ""
    findings.error("bad-call", error.format_message(), NOWHERE, hint)
    return findings_document(findings)


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="seqc", message="%(prog)s %(version)s")
def main() -> None:
    """Plan, time, check and build the pulses of a gravity-fed item display.

    Exit status: 0 all is well; 1 the machine was read and something falls short; 2 the input or
    the call is wrong.
    """
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is None:
            # The caller has closed it: what is printed goes nowhere, and nothing else is harmed.
            setattr(sys, name, open(os.devnull, "w"))  # noqa: SIM115
        elif isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
