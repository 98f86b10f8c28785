"""`seqc build`: step tables and firmware, each checked before it is written."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import click

import seqc
from seqc.cli.common import (
    Choice,
    Command,
    choice_options,
    findings_document,
    json_option,
    machine_file,
    print_findings,
    print_folded,
    print_json,
    progress,
    reports_findings,
)
from seqc.cli.values import NewFolder
from seqc.machine.cautions import IN_SHORT
from seqc.machine.findings import Findings
from seqc.machine.steptable import TablesFor

DEFAULT_TARGETS = ("c99",)


def _print_targets(context: click.Context, _: click.Parameter, wanted: bool) -> None:
    """List the targets and leave; those of `--targets` are known by then."""
    if not wanted or context.resilient_parsing:
        return
    _list_targets(extra=context.params.get("extra"), as_json=bool(context.obj))
    context.exit()


@reports_findings
def _list_targets(extra: Path | None, as_json: bool) -> None:
    known = seqc.known_targets(extra)
    if as_json:
        print_json({"targets": [{"name": t.name, "title": t.title} for t in known]})
        return
    for target in known:
        click.echo(f"{target.name:12} {target.title}")


@click.command("build", cls=Command)
@click.option(
    "--targets",
    "extra",
    type=click.Path(path_type=Path, file_okay=False, exists=True),
    is_eager=True,
    help="A folder of further targets.",
)
@click.option(
    "--list",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_print_targets,
    help="List the targets and leave.",
)
@machine_file
@click.option("--out", type=NewFolder(), required=True, help="The folder to fill.")
@click.option(
    "--target", "names", multiple=True, default=DEFAULT_TARGETS, help="A target; c99 by default."
)
@click.option(
    "--tables-for",
    type=click.Choice([one.value for one in TablesFor]),
    default=TablesFor.PROGRAMME.value,
    show_default=True,
    help="What each table is for: a glyph from any position, a transition, a tick of a programme, "
    "or bringing the machine up.",
)
@click.option("--slower", is_flag=True, help="Build even if the cadence is missed.")
@click.option("--tight", is_flag=True, help="Spend nothing of the cadence on wider distances.")
@choice_options
@json_option
@reports_findings
def command(
    machine_file: Path,
    extra: Path | None,
    out: Path,
    names: Sequence[str],
    tables_for: str,
    slower: bool,
    tight: bool,
    choice: Choice,
    as_json: bool,
) -> None:
    """Write step tables and firmware into a folder for each target below OUT.

    Nothing is written that the simulator finds a fault in.
    """
    chosen = seqc.targets_named(names, extra)
    findings = Findings()
    if TablesFor(tables_for) is TablesFor.COMMISSIONING:
        choice.refuse_frames("--tables-for commissioning")
        machine = choice.read(machine_file, findings, whole_fonts=True)
        with progress(f"building {machine.name}"):
            made = seqc.commissioning(machine)
            written = seqc.build_commissioning(made, chosen, out)
        _print_commissioning(made, written, findings, as_json)
        return
    machine = choice.read(machine_file, findings)
    wanted = choice.of(machine)
    with progress(f"building {machine.name}"):
        table_set = seqc.built_tables(
            machine, wanted, TablesFor(tables_for), slower, choice.prefer, choice.effort, tight
        )
        written = seqc.build(machine, wanted, table_set, chosen, out)
        sizes = seqc.sizes(machine, table_set, chosen)
    from seqc.report.replay_text import tables_count, tables_words

    if as_json:
        document = {"files": [str(path) for path in written], "tables": tables_count(table_set)}
        document["sizes"] = list(sizes)
        print_json({**document, "findings": findings_document(findings)})
        return
    print_findings(findings)
    for path in written:
        click.echo(f"wrote {path}")
    for line in sizes:
        click.echo(line)
    click.echo(f"{machine.name}: {tables_words(table_set)}, replayed without a fault")
    print_folded(IN_SHORT)


def _print_commissioning(
    made: seqc.Commissioning, written: Sequence[Path], findings: Findings, as_json: bool
) -> None:
    """Tell what was written of the tables of commissioning, and what was left out."""
    if as_json:
        names = [one.name for one in made.named]
        document = {"files": [str(path) for path in written], "tables": len(names), "names": names}
        document["left_out"] = list(made.left_out)
        print_json({**document, "findings": findings_document(findings)})
        return
    print_findings(findings)
    for path in written:
        click.echo(f"wrote {path}")
    for line in made.left_out:
        print_folded(f"left out: {line}")
    print_folded(
        f"{made.machine.name}: {len(made.named)} tables of commissioning, replayed without a "
        "fault; their numbers are in commissioning.csv, and `seqc commission` plays them"
    )
    print_folded(IN_SHORT)
