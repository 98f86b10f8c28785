"""`seqc format`: lay machine files out as the examples are."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

import click

import seqc
from seqc.cli.common import FALLS_SHORT, json_option, print_json, reports_findings
from seqc.machine.findings import Findings, InputError


@click.command("format")
@click.argument(
    "machine_files", type=click.Path(path_type=Path), metavar="FILE...", nargs=-1, required=True
)
@click.option("--check", is_flag=True, help="Write nothing; end with 1 if a file would change.")
@json_option
@reports_findings
def command(machine_files: Sequence[Path], check: bool, as_json: bool) -> None:
    """Lay machine files out as the examples are: settings aligned, comments kept.

    What a file means stays the same. A file that is included is a file of its own. Where a file has
    a syntax error nothing is written, to that file or to any other.
    """
    laid = _all_laid(machine_files)
    changed = [one for one in laid if one.is_changed]
    if not check:
        for one in changed:
            whole = one.path.resolve()
            seqc.write_files({whole.name: one.after}, whole.parent)
    if as_json:
        files = [{"file": str(one.path), "changed": one.is_changed} for one in laid]
        print_json({"files": files, "written": not check})
    else:
        for line in _lines(laid, check):
            click.echo(line)
    sys.exit(FALLS_SHORT if check and changed else 0)


def _all_laid(paths: Sequence[Path]) -> list[seqc.Formatted]:
    """Each file laid out; raises InputError with what is wrong in any of them."""
    findings = Findings()
    laid: list[seqc.Formatted] = []
    for path in paths:
        own = Findings()
        try:
            laid.append(seqc.formatted(path, own))
        except InputError:
            findings.extend(own)
    if findings.has_errors:
        raise InputError(findings)
    return laid


def _lines(laid: Sequence[seqc.Formatted], check: bool) -> list[str]:
    changed = "would change; run `seqc format` on it" if check else "formatted"
    return [f"{one.path}: {changed if one.is_changed else 'unchanged'}" for one in laid]
