"""`seqc commission`: bring the machine up, from its terminal and from a page."""

from __future__ import annotations

from pathlib import Path

import click

import seqc
from seqc.cli.common import (
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


@click.command("commission", cls=Command)
@machine_file
@click.option("--port", metavar="DEVICE", help="The serial port of the controller; else asked for.")
@click.option("--emulated", is_flag=True, help="Without hardware: firmware and machine run here.")
@click.option(
    "--faults",
    type=click.IntRange(0, 9),
    default=0,
    help="Set so many faults in the emulated machine, in secret; they are told at the end.",
)
@click.option("--seed", type=int, help="What secret faults are drawn from.")
@click.option(
    "--record",
    type=click.Path(path_type=Path, dir_okay=False),
    help="The record to begin or take up; else MACHINE_record.jsonl in this folder.",
)
@click.option("--sheet", is_flag=True, help="Print the bring-up as a checklist, and leave.")
@json_option
@reports_findings
def command(
    machine_file: Path,
    port: str | None,
    emulated: bool,
    faults: int,
    seed: int | None,
    record: Path | None,
    sheet: bool,
    as_json: bool,
) -> None:
    """Bring a machine up, drive it, and find what is wrong with it.

    The controller has the tables of `seqc build --tables-for commissioning`. What is done and seen
    goes to a record as it happens, which can be taken up again.
    """
    if emulated and port:
        raise click.UsageError("--emulated and --port exclude each other")
    if as_json and not sheet:
        raise click.UsageError("--json needs --sheet")
    if faults and not emulated:
        raise click.UsageError("--faults needs --emulated")
    findings = Findings()
    machine = read_machine(machine_file, findings, whole_fonts=True)
    if not (sheet or emulated or port):
        port = _asked_port()
    with progress(f"making the tables of {machine.name}"):
        made = seqc.commissioning(machine)
    if as_json:
        print_json({**seqc.commissioning_document(made), "findings": findings_document(findings)})
        return
    print_findings(findings)
    if sheet:
        for line in seqc.commissioning_sheet(made):
            click.echo(line)
        return
    for line in made.left_out:
        click.echo(f"left out: {line}")
    path = record or Path(f"{machine.name}_record.jsonl")
    seqc.desk(made, path, None if emulated else port, faults=faults, seed=seed).run()


def _asked_port() -> str:
    """The serial port that the person chooses; raises UsageError where there is none."""
    ports = seqc.serial_ports()
    if not ports:
        raise click.UsageError("there is no serial port; plug the controller in, or --emulated")
    for number, (device, words) in enumerate(ports, 1):
        click.echo(f"{number}  {device}  {words}")
    chosen = click.prompt("Port", type=click.IntRange(1, len(ports)), default=1)
    return ports[chosen - 1][0]
