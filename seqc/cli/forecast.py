"""`seqc forecast`: what a programme does to its machine in a time, and what it uses."""

from __future__ import annotations

import math
import re
import sys
from pathlib import Path
from typing import Any

import click

import seqc
from seqc.cli.common import (
    FALLS_SHORT,
    Choice,
    Command,
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

UNITS_US = {
    "ms": 1_000,
    "s": 1_000_000,
    "min": 60_000_000,
    "h": 3_600_000_000,
    "d": 86_400_000_000,
}
LONGEST_US = 100 * 365 * UNITS_US["d"]


class Number(click.FloatRange):
    """A number within bounds, of which "not a number" and infinity are none."""

    def convert(
        self,
        value: Any,  # noqa: ANN401
        param: click.Parameter | None,
        ctx: click.Context | None,
    ) -> float:
        """The number; a call that can't be read ends with exit status 2."""
        number = float(super().convert(value, param, ctx))
        if not math.isfinite(number):
            self.fail(f"{value!r} is not a number to reckon with", param, ctx)
        return number


AMBIENT = Number(-50, 120)


class Duration(click.ParamType[int]):
    """A time with its unit, such as `24h` or `90 min`, in microseconds."""

    name = "time"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> int:
        """The time; a call that can't be read ends with exit status 2."""
        if isinstance(value, int):
            return value
        found = re.fullmatch(r"(\d{1,12}(?:\.\d+)?) ?([a-z]+)", str(value).strip())
        unit = UNITS_US.get(found[2]) if found else None
        if found is None or unit is None:
            self.fail(f"{value!r} is not a time: write 24h, 90min, 30s or 7d", param, ctx)
        time_us = round(float(found[1]) * unit)
        if not 0 < time_us <= LONGEST_US:
            self.fail(f"{value!r} is not between 1 us and 100 years", param, ctx)
        return time_us


@click.command("forecast", cls=Command)
@machine_file
@click.option(
    "--for",
    "duration_us",
    type=Duration(),
    default="24h",
    show_default=True,
    help="How long the programme runs.",
)
@click.option(
    "--ambient", type=Number(-50, 120), default=40.0, show_default=True, help="The air, in C."
)
@click.option("--price", type=Number(0), help="What a kilowatt-hour costs.")
@click.option("--budget", type=Number(0), help="What the energy may cost.")
@click.option("--advise", is_flag=True, help="Say which kinds had better change places.")
@click.option(
    "--record",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Begin with what a record of `commission` has counted.",
)
@choice_options
@json_option
@reports_findings
def command(
    machine_file: Path,
    duration_us: int,
    ambient: float,
    price: float | None,
    budget: float | None,
    advise: bool,
    record: Path | None,
    choice: Choice,
    as_json: bool,
) -> None:
    """Print the wear, heat, energy and stock of a programme that runs for some time."""
    from seqc.report import forecast_document, forecast_text

    if budget is not None and price is None:
        raise click.UsageError("--budget needs a --price")
    findings = Findings()
    machine = choice.read(machine_file, findings)
    chosen = choice.of(machine)
    used = seqc.recorded(machine, record) if record else None
    with progress(f"planning {len(chosen.frames)} frames"):
        planned = seqc.plan(machine, chosen, choice.prefer, choice.effort)
        result = seqc.foresee(machine, planned, duration_us, ambient, price, budget, used)
    short = seqc.cadence_findings(planned)
    findings.extend((*short, *result.findings))
    if as_json:
        document = forecast_document.forecast_document(result, advise)
        print_json({**document, "findings": findings_document(findings)})
    else:
        print_findings(findings)
        for line in forecast_text.forecast_lines(result, advise, short):
            click.echo(line)
    sys.exit(FALLS_SHORT if findings.has_errors else 0)
