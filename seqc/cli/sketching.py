"""`seqc check` of a machine that isn't whole yet."""

from __future__ import annotations

import contextlib
import sys
from pathlib import Path

import click

import seqc
from seqc.cli.common import (
    FALLS_SHORT,
    allowed_folders,
    findings_document,
    print_findings,
    print_json,
    progress,
)
from seqc.machine.doubts import doubts
from seqc.machine.findings import Findings, InputError, ShortfallError
from seqc.machine.model import Machine


def read_or_sketch(path: Path, findings: Findings, as_json: bool) -> Machine:
    """The machine; of one that isn't whole, but sound, all is told that can be, and the run ends.

    Raises InputError when anything else is wrong.
    """
    try:
        with progress("reading the machine"):
            return seqc.read(path, findings, allowed=allowed_folders())
    except InputError:
        sketch = seqc.sketch(path, allowed_folders())
        if sketch is None:
            raise
        _tell(sketch, as_json)
        sys.exit(FALLS_SHORT if sketch.findings.has_errors else 0)


def _tell(sketch: seqc.Sketch, as_json: bool) -> None:
    from seqc.report import sketch_text
    from seqc.report.reach_text import reach_lines

    machine, findings = sketch.machine, sketch.findings
    if not sketch.lacks_electrics:
        findings.extend(doubts(machine))
    with progress(f"checking {machine.name}"):
        lost = seqc.out_of_reach(machine)
        findings.extend(found for grid in lost for found in grid.findings)
        plan = None
        with contextlib.suppress(InputError, ShortfallError):
            plan = seqc.plan(machine, seqc.asked(machine), seqc.PULSES).plan
    if as_json:
        document = {"machine": machine.name, "lacks": sketch_text.lacks_document(sketch.lacks)}
        print_json({**document, "findings": findings_document(findings)})
    else:
        print_findings(findings)
        reaches = [grid.reach for grid in lost]
        for line in sketch_text.sketch_lines(machine, sketch.lacks, reaches, plan):
            click.echo(line)
        for grid in lost:
            remedy = reach_lines(machine, grid.reach, grid.remedy, seqc.nearest(machine, grid))
            for line in remedy:
                click.echo(line)
