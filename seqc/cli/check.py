"""`seqc check`: read a machine, and see whether all that it is to show can be shown in time."""

from __future__ import annotations

import sys
from pathlib import Path

import click

import seqc
from seqc.cli.common import (
    FALLS_SHORT,
    findings_document,
    json_option,
    machine_file,
    print_findings,
    print_json,
    progress,
    read_machine,
    reports_findings,
)
from seqc.machine.doubts import doubts
from seqc.machine.findings import Findings, ShortfallError
from seqc.machine.glyphs import Frame
from seqc.machine.model import Machine


@click.command("check")
@machine_file
@json_option
@reports_findings
def command(machine_file: Path, as_json: bool) -> None:
    """Read a machine file and report everything that is wrong or falls short.

    Every glyph of its fonts is held against the linkages, every programme against its cadence.
    """
    from seqc.report import check_text

    findings = Findings()
    machine = read_machine(machine_file, findings)
    findings.extend(doubts(machine))
    with progress(f"checking {machine.name}"):
        planned = _plan_all(machine, findings)
    if as_json:
        document = check_text.check_document(machine, [(p.programme, p.timing) for p in planned])
        print_json({**document, "findings": findings_document(findings)})
    else:
        print_findings(findings)
        for line in check_text.machine_lines(machine):
            click.echo(line)
        for one in planned:
            click.echo(check_text.programme_line(one.programme, one.timing))
    sys.exit(FALLS_SHORT if findings.has_errors else 0)


def _plan_all(machine: Machine, findings: Findings) -> list[seqc.Planned]:
    """Plan every programme; what falls short goes to the findings."""
    drawn = [Frame((glyph,)) for font in machine.fonts for glyph in font.glyphs]
    findings.extend(seqc.out_of_reach(machine, drawn))
    planned: list[seqc.Planned] = []
    for programme in machine.programmes:
        try:
            planned.append(seqc.plan(machine, programme))
        except ShortfallError as error:
            findings.extend(error.findings)
            continue
        findings.extend(seqc.cadence_findings(planned[-1]))
    return planned
