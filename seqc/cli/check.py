"""`seqc check`: read a machine, and see whether all that it is to show can be shown in time."""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path
from typing import Any

import click

import seqc
from seqc.cli.common import (
    FALLS_SHORT,
    Command,
    exact_option,
    findings_document,
    json_option,
    machine_file,
    print_findings,
    print_folded,
    print_json,
    progress,
    reports_findings,
)
from seqc.cli.sketching import read_or_sketch
from seqc.machine.cautions import IN_SHORT
from seqc.machine.doubts import doubts
from seqc.machine.findings import Findings
from seqc.machine.model import Machine


@click.command("check", cls=Command)
@machine_file
@click.option("--advise", is_flag=True, help="Work out what would shorten the period most.")
@exact_option
@json_option
@reports_findings
def command(machine_file: Path, advise: bool, as_json: bool) -> None:
    """Read a machine file and report everything that is wrong or falls short.

    Every glyph of its fonts is held against the linkages, every programme against its cadence.
    A machine that isn't whole yet is checked as far as it goes: grid, lanes, linkages and fonts are
    enough for reach, passes, actuators and outputs.
    """
    from seqc.machine.hot import hot_findings
    from seqc.report import check_document, check_text, coil_text

    findings = Findings()
    machine = read_or_sketch(machine_file, findings, as_json)
    findings.extend(doubts(machine))
    with progress(f"checking {machine.name}"):
        lost = seqc.out_of_reach(machine)
        findings.extend(found for grid in lost for found in grid.findings)
        planned = seqc.plan_all(machine, machine.programmes, lost, findings)
        hot = seqc.hot_coils(machine, planned)
        findings.extend((*hot_findings(hot), *seqc.overloads(machine, planned)))
        advice = [seqc.advise(machine, one) if advise else () for one in planned]
    if as_json:
        document = check_document.check_document(
            machine, [(p.programme, p.timing, a) for p, a in zip(planned, advice, strict=True)]
        )
        for one, told in zip(planned, document["programmes"], strict=True):
            told["tolerances_kept"] = check_document.easing_document(one.easing)
            told["changes_within_us"] = one.built_tracks and one.built_tracks.apart_us
        document["coils"] = [coil_text.coil_document(coil) for coil in hot]
        document["out_of_reach"] = [_document(machine, grid) for grid in lost]
        print_json({**document, "findings": findings_document(findings)})
    else:
        print_findings(findings)
        print_folded(check_text.verdict_line(machine, findings))
        timed = [(one.programme, one.timing) for one in planned]
        beyond = Counter(glyph.font for grid in lost for glyph in grid.reach.beyond)
        for line in check_text.summary_lines(machine, timed, beyond):
            click.echo(line)
        for line in coil_text.coil_lines(hot):
            click.echo(line)
        for one, given in zip(planned, advice, strict=True):
            apart_us = None if one.built_tracks is None else one.built_tracks.apart_us
            for line in check_text.slowest_lines(one.programme, one.timing, one.easing, apart_us):
                click.echo(line)
            for line in check_text.advice_lines(one.timing, given) if advise else ():
                click.echo(line)
        for grid in lost:
            _print(machine, grid)
        print_folded(IN_SHORT)
    sys.exit(FALLS_SHORT if findings.has_errors else 0)


def _document(machine: Machine, grid: seqc.Beyond) -> dict[str, Any]:
    from seqc.report.reach_document import reach_document

    return reach_document(machine, grid.reach, grid.remedy, seqc.nearest(machine, grid))


def _print(machine: Machine, grid: seqc.Beyond) -> None:
    from seqc.report.reach_text import reach_lines

    for line in reach_lines(machine, grid.reach, grid.remedy, seqc.nearest(machine, grid)):
        click.echo(line)
