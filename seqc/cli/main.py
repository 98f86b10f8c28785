"""The command `seqc`: finds the subcommand, loading no other."""

from __future__ import annotations

import importlib

import click

COMMANDS = ("check", "plan", "build", "simulate", "forecast", "demo")


class LazyGroup(click.Group):
    """A group whose commands live in modules of their own, each loaded when it is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """The commands, in the order of the work."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        """The command of that name, or None."""
        if cmd_name not in COMMANDS:
            return None
        command = importlib.import_module(f"seqc.cli.{cmd_name}").command
        assert isinstance(command, click.Command)
        return command


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="seqc", message="%(prog)s %(version)s")
def main() -> None:
    """Plan, time, check and build the pulses of a gravity-fed item display.

    Exit status: 0 all is well; 1 the machine was read and something falls short; 2 the input or
    the call is wrong.
    """
