"""`seqc forecast`: what a programme does to its machine in a time, and what it uses."""

from __future__ import annotations

import sys
from pathlib import Path

import click

import seqc
from seqc.cli.common import (
    FALLS_SHORT,
    Choice,
    Command,
    ambient_option,
    choice_options,
    findings_document,
    for_option,
    json_option,
    machine_file,
    print_findings,
    print_json,
    progress,
    reports_findings,
)
from seqc.cli.values import Number
from seqc.machine.findings import Findings


@click.command("forecast", cls=Command)
@machine_file
@for_option
@ambient_option
@click.option("--price", type=Number(0), help="What a kilowatt-hour costs.")
@click.option("--budget", type=Number(0), help="Limit on the cost of energy.")
@click.option(
    "--advise",
    is_flag=True,
    help="Suggest kinds to exchange so that the stock lasts longer.",
)
@click.option(
    "--record",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Begin with what a record of `commission` has counted.",
)
@choice_options
@json_option
@reports_findings
def command(
    machine_file: Path,
    duration_us: int,
    ambient: float,
    price: float | None,
    budget: float | None,
    advise: bool,
    record: Path | None,
    choice: Choice,
    as_json: bool,
) -> None:
    """Print the wear, heat, energy and stock of a programme that runs for some time."""
    from seqc.report import forecast_document, forecast_text

    if budget is not None and price is None:
        raise click.UsageError("--budget needs a --price")
    findings = Findings()
    machine = choice.read(machine_file, findings)
    chosen = choice.of(machine)
    used = seqc.recorded(machine, record) if record else None
    with progress(f"planning {len(chosen.frames)} frames"):
        planned = seqc.plan(machine, chosen, choice.prefer, choice.effort)
        result = seqc.foresee(machine, planned, duration_us, ambient, price, budget, used)
    short = seqc.cadence_findings(planned)
    findings.extend((*short, *result.findings))
    if as_json:
        document = forecast_document.forecast_document(result, advise)
        print_json({**document, "findings": findings_document(findings)})
    else:
        print_findings(findings)
        for line in forecast_text.forecast_lines(result, advise, short):
            click.echo(line)
    sys.exit(FALLS_SHORT if findings.has_errors else 0)
