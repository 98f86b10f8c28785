"""`seqc linkages`: which cells' parts one actuator is to move, before a part is made."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

import seqc
from seqc.cli.common import (
    findings_document,
    json_option,
    print_findings,
    print_json,
    progress,
    reports_findings,
)
from seqc.machine.findings import NOWHERE, Findings, InputError

if TYPE_CHECKING:
    from seqc import Linkages


@click.command("linkages")
@click.argument("file", type=click.Path(path_type=Path), metavar="FILE")
@click.option("--show", metavar="TEXT", help="Only these glyphs; else all of the font.")
@click.option("--reserve", metavar="TEXT", default="", help="Glyphs to keep within reach.")
@click.option("--font", metavar="FONT", help="The font; else the first.")
@click.option(
    "--shape",
    type=click.Choice(seqc.LINKAGE_SHAPES),
    default=seqc.LINKAGE_SHAPES[0],
    show_default=True,
    help="Which cells one linkage may tie together.",
)
@click.option("--every-picture", is_flag=True, help="Only designs that can show any picture.")
@click.option(
    "--built",
    multiple=True,
    metavar="NAME",
    help="A part, or one of its groups (pick.r1), that stays as declared; may be repeated.",
)
@click.option(
    "--passes",
    "most_passes",
    type=click.IntRange(1, seqc.MOST_PASSES),
    default=seqc.MOST_PASSES,
    metavar="N",
    help="Look for designs with up to so many passes.",
)
@click.option("--draw", type=click.IntRange(1), metavar="N", help="Draw the linkages of design N.")
@click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Write the machine file of the design that is drawn.",
)
@click.option("--cluster", metavar="ADDRESS", help="Search on a Dask cluster.")
@json_option
@reports_findings
def command(
    file: Path,
    draw: int | None,
    out: Path | None,
    cluster: str | None,
    as_json: bool,
    **asked: Any,  # noqa: ANN401
) -> None:
    """List designs of linkages for the glyphs of FILE, each best by some measure.

    FILE is a machine file, which may lack its linkages and all else but a font, or a font file.
    """
    from seqc.report.linkages_document import linkages_document
    from seqc.report.linkages_text import drawing_lines, linkages_lines

    if out is not None and draw is None:
        raise click.UsageError("-o needs --draw N: which design to write")
    findings = Findings()
    with _executor(cluster) as executor, progress("searching linkages"):
        found = seqc.find_linkages(file, findings, executor=executor, **asked)
    if draw is not None and draw > len(found.offers):
        raise click.UsageError(f"there are {len(found.offers)} designs, so no number {draw}")
    if as_json:
        print_json({**linkages_document(found), "findings": findings_document(findings)})
    else:
        print_findings(findings)
        for line in drawing_lines(found, draw) if draw else linkages_lines(found):
            click.echo(line)
    if out is not None and draw is not None:
        _write(found, draw, out)
        click.echo(f"wrote {out}", err=as_json)


def _write(found: Linkages, number: int, out: Path) -> None:
    """Write a design's machine file, over no other."""
    findings = Findings()
    if out.exists():
        hint = "choose another name, or move that file away"
        findings.error("file-exists", f"{out} is there already", NOWHERE, hint)
    elif found.draft.tied and out.resolve().parent != found.draft.path.resolve().parent:
        hint = f"write it into the folder of {found.draft.path}"
        findings.error(
            "file-elsewhere", "the files that the machine names are beside it", NOWHERE, hint
        )
    if findings.has_errors:
        raise InputError(findings)
    seqc.write_files({out.name: found.offers[number - 1].text}, out.parent)


@contextmanager
def _executor(cluster: str | None) -> Iterator[Executor | None]:
    """The executor of a cluster, None without an address."""
    if cluster is None:
        yield None
        return
    try:
        from distributed import Client
    except ImportError as error:
        raise click.UsageError("--cluster needs the extra `cluster`: seqc[cluster]") from error
    try:
        client = Client(cluster, timeout="10s")  # type: ignore[no-untyped-call]
    except (OSError, ValueError) as error:
        raise click.UsageError(f"no cluster answers at {cluster}: {error}") from error
    with client:
        yield client.get_executor()  # type: ignore[no-untyped-call]
