"""`seqc simulate`: replay step tables and draw what is seen."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

import seqc
from seqc.cli.common import (
    FALLS_SHORT,
    Choice,
    Command,
    check_first,
    choice_options,
    findings_document,
    frames_options,
    json_option,
    machine_file,
    print_findings,
    print_json,
    progress,
    reports_findings,
)
from seqc.machine.findings import Findings
from seqc.machine.model import Machine
from seqc.machine.steptable import TablesFor
from seqc.machine.tracks import Tables

if TYPE_CHECKING:
    from seqc.report.replay_text import Showing

MOST_SAMPLES = 100_000


@click.command("simulate", cls=Command)
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
@click.option(
    "--samples",
    type=click.IntRange(1, MOST_SAMPLES),
    help="Replay on so many machines with parts drawn within their tolerances.",
)
@click.option("--seed", type=int, help="What the parts are drawn from (0).")
@click.option("--tight", is_flag=True, help="Build it as `build --tight` does.")
@click.option("--stock", is_flag=True, help="Run the stock down: no item is recirculated.")
@frames_options(20)
@choice_options
@json_option
@reports_findings
def command(
    machine_file: Path,
    folder: Path | None,
    extra: Path | None,
    samples: int | None,
    seed: int | None,
    tight: bool,
    stock: bool,
    first: int | None,
    most: int | None,
    choice: Choice,
    as_json: bool,
) -> None:
    """Replay step tables from power-on; draw what is seen and report every fault."""
    from seqc.report import replay_document, replay_text

    if samples is None and seed is not None:
        raise click.UsageError("--seed needs --samples")
    if samples is not None and stock:
        raise click.UsageError("--samples and --stock exclude each other")
    if folder is not None and tight:
        raise click.UsageError("--tables and --tight exclude each other")
    if (first or most) and (as_json or samples is not None):
        raise click.UsageError("--from and --frames say what is drawn, and here nothing is")
    findings = Findings()
    machine = choice.read(machine_file, findings)
    with progress(f"replaying {machine.name}"):
        wanted = None if folder else choice.of(machine)
        if wanted is None:
            assert folder is not None
            table_set = seqc.read_tables(folder, extra)
        else:
            table_set = seqc.built_tables(
                machine, wanted, TablesFor.PROGRAMME, True, choice.prefer, choice.effort, tight
            )
        if samples is None:
            ticks = seqc.every_tick(table_set)
            replay = seqc.replay(machine, ticks, wanted, stock=stock)
    if samples is not None:
        _sample(machine, table_set, samples, seed or 0, findings, as_json)
    if as_json:
        document = replay_document.replay_document(machine, replay)
        print_json({**document, "findings": findings_document(findings)})
    else:
        _print(machine, replay_text.Showing.of(ticks, replay), first, most, findings)
    sys.exit(FALLS_SHORT if replay.faults or replay.unchecked else 0)


def _print(
    machine: Machine,
    showing: Showing,
    first: int | None,
    most: int | None,
    findings: Findings,
) -> None:
    from seqc.report.replay_text import MOST_FRAMES, replay_lines

    check_first(first, len(showing.frames))
    print_findings(findings)
    for line in replay_lines(machine, showing, first or 1, most or MOST_FRAMES):
        click.echo(line)


def _sample(
    machine: Machine, table_set: Tables, count: int, seed: int, findings: Findings, as_json: bool
) -> NoReturn:
    """Replay on drawn machines, and by the bounds of all of them; print what breaks, and exit."""
    from seqc.report.samples_document import samples_document
    from seqc.report.samples_text import samples_lines

    with progress(f"replaying {count} machines"):
        once = seqc.sample(machine, table_set, count=count, seed=seed)
        anew = seqc.sample(machine, table_set, count=count, seed=seed, anew=True)
        within = seqc.replay_bounds(machine, table_set)
    if as_json:
        document = samples_document(machine, once, anew, within, seed)
        print_json({**document, "findings": findings_document(findings)})
    else:
        print_findings(findings)
        for line in samples_lines(machine, once, anew, within, seed):
            click.echo(line)
    sys.exit(FALLS_SHORT if once.faulty or anew.faulty or within.faults else 0)
