"""`seqc demo`: an example machine on disk, and its firmware."""

from __future__ import annotations

import sys
from pathlib import Path

import click

import seqc
from seqc.cli.common import UNUSABLE, Command, print_folded, progress, reports_findings
from seqc.cli.values import NewFolder
from seqc.examples import EXAMPLES, example_files
from seqc.machine.cautions import IN_SHORT
from seqc.machine.findings import Findings
from seqc.machine.steptable import TablesFor

TARGET = "c99"


@click.command("demo", cls=Command)
@click.argument("folder", type=NewFolder(), metavar="DIR")
@click.option(
    "--example", type=click.Choice(sorted(EXAMPLES)), default="berth_board", show_default=True
)
@reports_findings
def command(folder: Path, example: str) -> None:
    """Write an example machine with its font into DIR, and build it there."""
    files = example_files(example)
    changed = [name for name, text in files.items() if _differs(folder / name, text)]
    if changed:
        click.echo(
            f"error: {folder / changed[0]} is there already and differs\n"
            "  hint: choose another folder, or move that file away",
            err=True,
        )
        sys.exit(UNUSABLE)
    seqc.write_files(files, folder)
    machine_file = folder / next(iter(files))
    with progress(f"building {example}"):
        machine = seqc.read(machine_file, Findings())
        wanted = seqc.asked(machine)
        table_set = seqc.tables(machine, wanted, TablesFor.PROGRAMME)
        chosen = seqc.targets_named((TARGET,))
        written = seqc.build(machine, wanted, table_set, chosen, folder / "firmware")
    for path in (*(folder / name for name in files), *written):
        click.echo(f"wrote {path}")
    click.echo(
        f"The example {example} is in {machine_file}; its C files, replayed without a fault, "
        f"are in {written[0].parent}."
    )
    print_folded(IN_SHORT)


def _differs(path: Path, text: str) -> bool:
    return path.exists() and (not path.is_file() or path.read_bytes() != text.encode())
