"""`seqc diagnose`: test frames for a machine, and what explains what was seen of them."""

from __future__ import annotations

import sys
from pathlib import Path

import click

import seqc
from seqc.cli.common import (
    FALLS_SHORT,
    Command,
    findings_document,
    json_option,
    machine_file,
    print_findings,
    print_json,
    progress,
    read_machine,
    reports_findings,
)
from seqc.machine.findings import Findings
from seqc.machine.model import Machine


@click.command("diagnose", cls=Command)
@machine_file
@click.argument("seen_file", type=click.Path(path_type=Path), metavar="[SEEN]", required=False)
@click.option(
    "--only", metavar="KIND", multiple=True, help="Make test frames of this kind; may be repeated."
)
@click.option(
    "--handled",
    metavar="ACTUATOR",
    multiple=True,
    help="This actuator was worked on last, as `drop.c2`; may be repeated.",
)
@click.option("--new", "is_new", is_flag=True, help="The machine has never worked as it should.")
@json_option
@reports_findings
def command(
    machine_file: Path,
    seen_file: Path | None,
    only: tuple[str, ...],
    handled: tuple[str, ...],
    is_new: bool,
    as_json: bool,
) -> None:
    """Find out what is wrong with a machine from what is seen of it.

    Without SEEN, the frames to show and what should be seen of them, as a file to be changed where
    something else is seen. With SEEN, that file, the faults that explain it.
    """
    if seen_file is None and (handled or is_new):
        raise click.UsageError("--handled and --new need SEEN")
    findings = Findings()
    machine = read_machine(machine_file, findings)
    if seen_file is None:
        _print_test_frames(machine, only, findings, as_json)
    else:
        with progress("looking for what explains it"):
            found = seqc.diagnose(machine, seen_file, findings, only, handled, is_new)
        _print_diagnosis(machine, found, findings, as_json)


def _print_test_frames(
    machine: Machine, only: tuple[str, ...], findings: Findings, as_json: bool
) -> None:
    from seqc.report import diagnosis_document, diagnosis_text

    with progress("choosing test frames"):
        found = seqc.find_test_frames(machine, only)
    if as_json:
        document = diagnosis_document.test_frames_document(machine, found)
        print_json({**document, "findings": findings_document(findings)})
        return
    print_findings(findings)
    for line in diagnosis_text.test_frame_lines(machine, found):
        click.echo(line)


def _print_diagnosis(
    machine: Machine, found: seqc.Diagnosed, findings: Findings, as_json: bool
) -> None:
    from seqc.report import diagnosis_document, diagnosis_text

    names = [play.name for play in found.seen.plays]
    if as_json:
        document = diagnosis_document.diagnosis_document(
            machine, found.diagnosis, names, found.next_frame
        )
        print_json({**document, "findings": findings_document(findings)})
    else:
        print_findings(findings)
        for line in diagnosis_text.diagnosis_lines(
            machine, found.diagnosis, names, found.next_frame
        ):
            click.echo(line)
    sys.exit(FALLS_SHORT if found.diagnosis.wrong else 0)
