"""`seqc report`: one page that explains a machine, a picture of it, or a sheet for the bench."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

import click

import seqc
from seqc.cli.common import (
    FALLS_SHORT,
    Choice,
    Command,
    ambient_option,
    choice_options,
    findings_document,
    for_option,
    json_option,
    machine_file,
    print_findings,
    print_folded,
    print_json,
    progress,
    reports_findings,
)
from seqc.machine.findings import NOWHERE, Findings, InputError
from seqc.machine.glyphs import Programme
from seqc.machine.model import Machine
from seqc.machine.wording import listed

if TYPE_CHECKING:
    from seqc.report.drawings.svg import Drawing

PICTURES = ("timing", "glyphs", "linkages", "lane", "wear")
SHEETS = ("wiring", "filling", "glyphs", "parts", "spares")
FORMATS = (".svg", ".png", ".pdf")
PAGE_FORMATS = (".html",)


@click.command("report", cls=Command)
@machine_file
@click.option(
    "-o",
    "out",
    type=click.Path(path_type=Path, dir_okay=False),
    required=True,
    metavar="FILE",
    help="The file to write: .html, or .svg, .png or .pdf for a picture.",
)
@click.option("--picture", type=click.Choice(PICTURES), help="One picture instead of the page.")
@click.option("--sheet", type=click.Choice(SHEETS), help="One sheet for the bench instead.")
@for_option
@ambient_option
@choice_options
@json_option
@reports_findings
def command(
    machine_file: Path,
    out: Path,
    picture: str | None,
    sheet: str | None,
    duration_us: int,
    ambient: float,
    choice: Choice,
    as_json: bool,
) -> None:
    """Write one page that explains the machine: what holds, what happens when, what it takes.

    The page is one file that loads nothing. `--picture` and `--sheet` write a part of it alone.
    """
    from seqc.report.check_text import verdict_line

    if picture and sheet:
        raise click.UsageError("--picture and --sheet exclude each other")
    formats = FORMATS if picture else PAGE_FORMATS
    if out.suffix.lower() not in formats:
        raise click.UsageError(f"-o {out.name!r} must end in {listed(formats)}")
    findings = Findings()
    machine = choice.read(machine_file, findings)
    asked = Asked(machine, choice, findings, duration_us, ambient)
    with progress(f"working out {machine.name}"):
        if picture:
            content = _drawn(asked.picture(picture), out.suffix.lower())
        else:
            content = (asked.sheet(sheet) if sheet else asked.page()).encode()
    write_file(out, content)
    if as_json:
        print_json(
            {"file": str(out), "bytes": len(content), "findings": findings_document(findings)}
        )
    else:
        print_findings(findings)
        if not picture and not sheet:
            print_folded(verdict_line(machine, findings))
        click.echo(f"  {out}: {len(content):,} bytes")
    sys.exit(FALLS_SHORT if findings.has_errors else 0)


class Asked:
    """What a call asks for, of one machine."""

    def __init__(
        self,
        machine: Machine,
        choice: Choice,
        findings: Findings,
        duration_us: int,
        ambient_c: float,
    ) -> None:
        self.machine, self.choice, self.findings = machine, choice, findings
        self.duration_us, self.ambient_c = duration_us, ambient_c

    @property
    def programmes(self) -> Sequence[Programme]:
        """What is chosen, or else every programme; without any what the first font shows."""
        if self.choice.show is not None or self.choice.programme is not None:
            return (self.choice.of(self.machine),)
        if self.machine.programmes:
            return self.machine.programmes
        with suppress(InputError):
            return (self.choice.of(self.machine),)
        return ()

    def page(self, watched: int = 0) -> str:
        """The page; what falls short goes to the findings."""
        from seqc.report.page.page import page

        survey = seqc.survey(
            self.machine,
            self.programmes,
            self.findings,
            self.duration_us,
            self.ambient_c,
            self.choice.prefer,
            self.choice.effort,
        )
        return page(survey, watched=watched)

    def sheet(self, name: str) -> str:
        """A sheet by its name."""
        from seqc.report.page.sheet_page import sheet_page
        from seqc.report.sheets import choice as sheets

        if name == "glyphs":
            return sheet_page(sheets.glyphs_sheet(self.machine, self._fonts()))
        forecast = None
        if name != "wiring" and (name != "parts" or self.programmes):
            forecast = self._forecast()
        made = {each.name: each for each in sheets.sheets_of(self.machine, forecast)}
        return sheet_page(made[name])

    def picture(self, kind: str) -> Drawing:
        """A picture by its kind."""
        from seqc.report.drawings import choice as drawings
        from seqc.report.drawings.wear import wear_chart

        match kind:
            case "linkages":
                return drawings.linkages_picture(self.machine)
            case "lane":
                return drawings.lanes_picture(self.machine)
            case "wear":
                return wear_chart(self._forecast())
            case "glyphs":
                chosen = None
                if self.choice.show is not None:
                    frames = self.choice.of(self.machine).frames
                    chosen = [glyph for frame in frames for glyph in frame]
                return drawings.glyphs_picture(self.machine, self._fonts(), chosen)
            case _:
                return self._timing()

    def _timing(self) -> Drawing:
        """One frame by itself, or the slowest change of a programme."""
        from seqc.machine.steptable import TablesFor
        from seqc.report.drawings.choice import timing_picture

        chosen = self.choice.of(self.machine)
        if len(chosen.frames) == 1:
            tables = seqc.tables(
                self.machine, chosen, TablesFor.GLYPH, True, self.choice.prefer, self.choice.effort
            )
            title = f"{chosen.frames[0].name} on {self.machine.name}"
            runs = len(list(tables))
            return timing_picture(self.machine, seqc.traced(self.machine, tables), runs - 1, title)
        planned = self._planned()
        tables = seqc.every_tick(seqc.laid_out(self.machine, planned))
        title = f"the slowest change of {chosen.name} on {self.machine.name}"
        first = len(list(tables)) - len(tables.tables) + 1
        trace = seqc.traced(self.machine, tables)
        return timing_picture(self.machine, trace, first + planned.timing.slowest, title)

    def _planned(self) -> seqc.Planned:
        chosen = self.choice.of(self.machine)
        return seqc.plan(self.machine, chosen, self.choice.prefer, self.choice.effort)

    def _forecast(self) -> seqc.Forecast:
        planned = self._planned()
        return seqc.foresee(self.machine, planned, self.duration_us, self.ambient_c)

    def _fonts(self) -> Sequence[seqc.FontShown]:
        lost = seqc.out_of_reach(self.machine)
        beyond = frozenset(glyph for grid in lost for glyph in grid.reach.beyond)
        self.findings.extend(found for grid in lost for found in grid.findings)
        return seqc.fonts_in_time(self.machine, beyond, self.choice.prefer)


def _drawn(picture: Drawing, suffix: str) -> bytes:
    from seqc.report.drawings.choice import written

    try:
        return written(picture, suffix)
    except (ImportError, OSError) as error:
        words = f"a {suffix} needs the extra `pictures` (pip install 'seqc[pictures]') and cairo"
        raise click.UsageError(f"{words}; .svg needs neither") from error


def write_file(out: Path, content: bytes) -> None:
    """Write a file whole or not at all; raises InputError where that can't be done."""
    try:
        descriptor, name = tempfile.mkstemp(dir=out.parent, prefix=f".{out.name}.")
        try:
            with os.fdopen(descriptor, "wb") as stream:
                stream.write(content)
            umask = os.umask(0)
            os.umask(umask)
            os.chmod(name, 0o666 & ~umask)
            os.replace(name, out)
        except BaseException:
            os.unlink(name)
            raise
    except OSError as error:
        findings = Findings()
        message = f"{out} can't be written: {error.strerror}"
        findings.error("not-written", message, NOWHERE, "choose another place; nothing has changed")
        raise InputError(findings) from error
