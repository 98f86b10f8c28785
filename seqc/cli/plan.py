"""`seqc plan`: the passes and times of what is to be shown."""

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


@click.command("plan")
@machine_file
@choice_options
@json_option
@reports_findings
def command(
    machine_file: Path,
    choice: Choice,
    as_json: bool,
) -> None:
    """Print each frame as a picture, with the passes that load it and how long they take."""
    from seqc.report import plan_text

    findings = Findings()
    machine = choice.read(machine_file, findings)
    chosen = choice.of(machine)
    with progress(f"planning {len(chosen.frames)} frames"):
        planned = seqc.plan(machine, chosen, choice.prefer)
    findings.extend(seqc.cadence_findings(planned))
    if as_json:
        document = plan_text.plan_document(planned.plan, planned.timing)
        print_json({**document, "findings": findings_document(findings)})
    else:
        print_findings(findings)
        for line in plan_text.plan_lines(machine, planned.programme, planned.plan, planned.timing):
            click.echo(line)
    sys.exit(FALLS_SHORT if findings.has_errors else 0)
