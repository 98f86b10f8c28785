"""`seqc watch`: the page on loopback, made anew whenever a file that it came from is saved."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import click

from seqc.cli.common import (
    Choice,
    Command,
    ambient_option,
    choice_options,
    for_option,
    machine_file,
    reports_findings,
)
from seqc.cli.report import Asked
from seqc.machine.findings import Findings, InputError, ShortfallError
from seqc.machine.model import Machine
from seqc.machine.opened import noted

if TYPE_CHECKING:
    from seqc.report.page.watched import Watched

LOOK_MS = 1_000
"""How often files are looked at in any case, where their system tells of no change."""

Stamps = Mapping[Path, tuple[int, int] | None]


@click.command("watch", cls=Command)
@machine_file
@click.option(
    "--port", type=click.IntRange(0, 65535), default=0, help="The port; else any that is free."
)
@click.option("--open", "opens", is_flag=True, help="Open the page in the browser.")
@for_option
@ambient_option
@choice_options
@reports_findings
def command(
    machine_file: Path,
    port: int,
    opens: bool,
    duration_us: int,
    ambient: float,
    choice: Choice,
) -> None:
    """Show the page of a machine while its file is worked on, until it is stopped (Ctrl-C).

    Whenever a file that it came from is saved, the page is made anew in place; while the file is
    wrong, the page tells why. It is served to this machine alone, under an address that holds a
    secret.
    """
    from seqc.report.page.watched import Watched

    _need_watchfiles()
    try:
        watched = Watched(machine_file.name, port)
    except OSError as error:
        raise click.UsageError(f"--port {port}: {error.strerror}") from error
    with watched.server:
        click.echo(f"{watched.url}\nuntil Ctrl-C")
        if opens:
            click.launch(watched.url)
        _Watch(watched, machine_file, choice, duration_us, ambient).run()


def _need_watchfiles() -> None:
    try:
        import watchfiles  # noqa: F401
    except ImportError as error:
        words = "watch needs the extra `watch`: pip install 'seqc[watch]'"
        raise click.UsageError(words) from error


class _Watch:
    """The file, and what was last made of it."""

    def __init__(
        self, watched: Watched, path: Path, choice: Choice, duration_us: int, ambient_c: float
    ) -> None:
        self.watched, self.path, self.choice = watched, path, choice
        self.duration_us, self.ambient_c = duration_us, ambient_c
        self.machine: Machine | None = None

    def run(self) -> None:
        """Make the page, wait for a change, and so on until it is stopped."""
        try:
            while True:
                stamps = self.make()
                wait_for_change(stamps)
        except KeyboardInterrupt:
            click.echo("ended", err=True)

    def make(self) -> Stamps:
        """Make the page, or say why it can't be made; gives the files that it came from."""
        findings = Findings()
        self.watched.working()
        with noted() as files:
            try:
                before = stamps_of(files | {self.path.absolute()})
                machine = self.choice.read(self.path, findings)
                self._show(machine, findings)
            except (InputError, ShortfallError) as error:
                self.machine = None
                self.watched.wrong(list(error.findings))
                click.echo(f"{self.path}: {len(list(error.findings))} findings", err=True)
        return {**stamps_of(files), **before}

    def _show(self, machine: Machine, findings: Findings) -> None:
        if machine == self.machine:
            self.watched.unchanged()
            return
        asked = Asked(machine, self.choice, findings, self.duration_us, self.ambient_c)
        self.watched.made(lambda number: asked.page(watched=number))
        self.machine = machine
        click.echo(f"{self.path}: page {self.watched.number}", err=True)


def stamps_of(files: Collection[Path]) -> Stamps:
    """When each file was changed last, and its size; None for one that isn't there."""
    found: dict[Path, tuple[int, int] | None] = {}
    for file in files:
        try:
            state = file.stat()
            found[file] = state.st_mtime_ns, state.st_size
        except OSError:
            found[file] = None
    return found


def wait_for_change(stamps: Stamps) -> None:
    """Wait until a file isn't as it was; raises KeyboardInterrupt when it is stopped."""
    from watchfiles import watch

    folders = {file.parent for file in stamps if file.parent.is_dir()} or {Path.cwd()}
    looks = watch(
        *folders,
        watch_filter=lambda _, path: Path(path) in stamps,
        recursive=False,
        yield_on_timeout=True,
        rust_timeout=LOOK_MS,
    )
    while stamps_of(stamps.keys()) == stamps:
        next(looks)
