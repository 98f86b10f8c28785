"""`seqc simulate`: replay step tables and draw what is seen."""

from __future__ import annotations

import sys
from pathlib import Path

import click

import seqc
from seqc.cli.common import (
    FALLS_SHORT,
    Choice,
    choice_options,
    findings_document,
    json_option,
    machine_file,
    print_findings,
    print_json,
    progress,
    reports_findings,
)
from seqc.machine.findings import Findings
from seqc.machine.steptable import Layout


@click.command("simulate")
@machine_file
@click.option(
    "--tables",
    "folder",
    type=click.Path(path_type=Path, file_okay=False, exists=True),
    help="A folder written by `build` for one target; without it the programme is built anew.",
)
@click.option(
    "--targets",
    "extra",
    type=click.Path(path_type=Path, file_okay=False, exists=True),
    help="A folder of further targets, one of which wrote the tables.",
)
@click.option("--stock", is_flag=True, help="Count the items: nothing comes back to a magazine.")
@choice_options
@json_option
@reports_findings
def command(
    machine_file: Path,
    folder: Path | None,
    extra: Path | None,
    stock: bool,
    choice: Choice,
    as_json: bool,
) -> None:
    """Replay step tables from power-on; draw what is seen and report every fault."""
    from seqc.report import replay_document, replay_text

    findings = Findings()
    machine = choice.read(machine_file, findings)
    with progress(f"replaying {machine.name}"):
        if folder:
            table_set = seqc.read_tables(folder, extra)
        else:
            wanted = choice.of(machine)
            table_set = seqc.tables(
                machine, wanted, Layout.PROGRAMME, True, choice.prefer, choice.effort
            )
        replay = seqc.replay(machine, table_set, stock=stock)
    if as_json:
        document = replay_document.replay_document(machine, replay)
        print_json({**document, "findings": findings_document(findings)})
    else:
        print_findings(findings)
        for line in replay_text.replay_lines(machine, replay):
            click.echo(line)
    sys.exit(FALLS_SHORT if replay.faults or replay.unchecked else 0)
