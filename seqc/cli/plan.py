"""`seqc plan`: the passes and times of what is to be shown."""

from __future__ import annotations

import sys
from pathlib import Path

import click

import seqc
from seqc.cli.common import (
    FALLS_SHORT,
    Choice,
    Command,
    check_first,
    choice_options,
    exact_option,
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


@click.command("plan", cls=Command)
@machine_file
@click.option("--whole-font", metavar="FONT", help="Plan each glyph of a font, from any position.")
@click.option("--pulses", is_flag=True, help="Print each frame's pulses with their times, too.")
@frames_options(100)
@choice_options
@exact_option
@json_option
@reports_findings
def command(
    machine_file: Path,
    whole_font: str | None,
    pulses: bool,
    first: int | None,
    most: int | None,
    choice: Choice,
    as_json: bool,
) -> None:
    """Print each frame as a picture, with the passes that load it and how long they take."""
    from seqc.report import plan_document

    findings = Findings()
    if (first or most or pulses) and (as_json or whole_font is not None):
        words = "--from, --frames and --pulses say what is drawn, and here nothing is"
        raise click.UsageError(words)
    if whole_font is not None:
        choice.refuse_frames("--whole-font")
    machine = choice.read(machine_file, findings, whole_fonts=whole_font is not None)
    if whole_font is None:
        planned = _planned(machine, choice, findings)
        if as_json:
            document = plan_document.plan_document(planned.plan, planned.timing)
            print_json({**document, "findings": findings_document(findings)})
        else:
            print_findings(findings)
            _print(machine, planned, first, most, pulses)
    else:
        _plan_font(machine, whole_font, choice.prefer, findings, as_json)
    sys.exit(FALLS_SHORT if findings.has_errors else 0)


def _planned(machine: Machine, choice: Choice, findings: Findings) -> seqc.Planned:
    chosen = choice.of(machine)
    with progress(f"planning {len(chosen.frames)} frames"):
        planned = seqc.plan(machine, chosen, choice.prefer, choice.effort)
    findings.extend(seqc.cadence_findings(planned))
    return planned


def _print(
    machine: Machine, planned: seqc.Planned, first: int | None, most: int | None, pulses: bool
) -> None:
    from seqc.report.plan_text import MOST_FRAMES, plan_lines

    plan, timing = planned.plan, planned.timing
    check_first(first, len(plan.plans))
    for line in plan_lines(
        machine, planned.programme, plan, timing, first or 1, most or MOST_FRAMES, pulses
    ):
        click.echo(line)


def _plan_font(machine: Machine, font: str, prefer: str, findings: Findings, as_json: bool) -> None:
    from seqc.report.font_document import glyph_document, tally_document
    from seqc.report.font_text import FontTally, glyph_line

    tally = FontTally()
    documents = []
    lost = []
    with progress(f"font {font}"):
        for result in seqc.plan_whole_font(machine, font, prefer):
            tally.count(result)
            if as_json:
                documents.append(glyph_document(result))
            else:
                click.echo(glyph_line(result))
            if result.plan is None:
                lost.append(result.glyph)
    beyond = seqc.out_of_reach(machine, lost)
    findings.extend(found for grid in beyond for found in grid.findings)
    if as_json:
        document = {"font": font, "prefer": prefer, "glyphs": documents, **tally_document(tally)}
        print_json({**document, "findings": findings_document(findings)})
    else:
        print_findings(findings)
        click.echo(tally.line())
