"""What the commands share: their arguments, the way they fail, and how they print."""

from __future__ import annotations

import functools
import sys
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any, ParamSpec

import click

import seqc
from seqc.cli.values import Duration, Number
from seqc.machine.effort import EFFORTS
from seqc.machine.findings import Findings, InputError, Severity, ShortfallError
from seqc.machine.glyphs import Programme
from seqc.machine.model import Machine
from seqc.machine.progress import heard
from seqc.machine.wording import listed, quoted

ALLOWED = "seqc.allowed"
FALLS_SHORT = 1
UNUSABLE = 2
STOPPED = 130
PATIENCE_S = 2.0
LOOK_S = 0.2

P = ParamSpec("P")
Body = Callable[P, None]


class Command(click.Command):
    """A command that tells what an option may be given when it is given nothing."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Read the call; raises click.UsageError."""
        try:
            return super().parse_args(ctx, args)
        except click.BadOptionUsage as error:
            told = error.format_message()
            for option in self.params:
                if error.option_name in option.opts and isinstance(option.type, click.Choice):
                    told += f" It is one of {listed(quoted(option.type.choices))}."
            raise click.BadOptionUsage(error.option_name, told, ctx) from error


def machine_file(function: Body[P]) -> Body[P]:
    """Adds the machine file, the first argument of every command, and where it may include from."""
    path = click.Path(path_type=Path)
    include = click.option(
        "--include",
        "allowed",
        type=click.Path(path_type=Path, file_okay=False, exists=True),
        multiple=True,
        metavar="DIR",
        expose_value=False,
        callback=_allow,
        help="Find what the file includes, and its fonts, in this folder too.",
    )
    return click.argument("machine_file", type=path, metavar="MACHINE")(include(function))


def _allow(ctx: click.Context, _param: click.Parameter, folders: tuple[Path, ...]) -> None:
    ctx.meta[ALLOWED] = folders


def allowed_folders() -> tuple[Path, ...]:
    """The folders that the call allows a machine file to include from."""
    folders: tuple[Path, ...] = click.get_current_context().meta.get(ALLOWED, ())
    return folders


def for_option(function: Body[P]) -> Body[P]:
    """Adds `--for`, the command's `duration_us`."""
    text = "How long the programme runs."
    option = click.option(
        "--for", "duration_us", type=Duration(), default="24h", show_default=True, help=text
    )
    return option(function)


def ambient_option(function: Body[P]) -> Body[P]:
    """Adds `--ambient`, in degrees Celsius."""
    text = "Ambient temperature in degrees Celsius."
    option = click.option(
        "--ambient", type=Number(-50, 120), default=40.0, show_default=True, help=text
    )
    return option(function)


def frames_options(usual: int) -> Callable[[Body[P]], Body[P]]:
    """Adds `--from` and `--frames`: which frames to draw, so many unless more are asked for."""

    def add(function: Body[P]) -> Body[P]:
        start = click.option(
            "--from", "first", type=click.IntRange(1), help="The first frame to draw (1)."
        )
        text = f"How many frames to draw ({usual})."
        return start(click.option("--frames", "most", type=click.IntRange(1), help=text)(function))

    return add


def check_first(first: int | None, count: int) -> None:
    """Refuse a first frame that there isn't."""
    if first and first > count:
        raise click.UsageError(f"--from {first} is beyond the last of {count} frames")


def exact_option(function: Body[P]) -> Body[P]:
    """Adds `--exact`, which what is printed heeds by itself."""
    text = "Print times to the microsecond."
    option = click.option(
        "--exact", is_flag=True, expose_value=False, callback=_print_exactly, help=text
    )
    return option(function)


def _print_exactly(ctx: click.Context, _param: click.Parameter, exact: bool) -> None:
    if exact:
        from seqc.report.words import to_the_microsecond

        ctx.with_resource(to_the_microsecond())


def json_option(function: Body[P]) -> Body[P]:
    """Adds `--json`."""
    text = "Print one JSON document instead of text."
    return click.option("--json", "as_json", is_flag=True, help=text)(function)


@dataclass(frozen=True, slots=True)
class Choice:
    """What a call wants to be shown: a text, one kind, a programme, or else the first programme.

    `prefer` is what its plan is to save next after passes, `effort` how hard a better one is looked
    for.
    """

    show: str | None
    only: str | None
    grid: str | None
    font: str | None
    programme: str | None
    prefer: str
    effort: str

    def read(self, machine_file: Path, findings: Findings, whole_fonts: bool = False) -> Machine:
        """The machine, with the glyphs of the text to show; raises InputError."""
        return read_machine(machine_file, findings, self.show or "", whole_fonts)

    def refuse_frames(self, option: str) -> None:
        """Refuse what chooses frames beside an option that leaves no choice of them."""
        given = {"--show": self.show, "--only": self.only, "--programme": self.programme}
        if self.effort != seqc.NORMAL:
            given["--effort"] = self.effort
        for name, value in given.items():
            if value is not None:
                raise click.UsageError(f"{option} and {name} exclude each other")

    def of(self, machine: Machine) -> Programme:
        """What the machine is to show; raises InputError when it has no such thing."""
        return seqc.asked(machine, self.show, self.grid, self.font, self.programme, self.only)


def choice_options(function: Body[P]) -> Body[P]:
    """Adds the options that say what is to be shown; the command gets them as its `choice`."""
    options = (
        click.option("--show", metavar="TEXT", help="Show this text; {name} is a longer name."),
        click.option("--only", metavar="KIND", help="Show this kind of item in every cell."),
        click.option("--on", "grid", metavar="GRID", help="The grid for --show or --only."),
        click.option("--font", metavar="FONT", help="The font for --show."),
        click.option("--programme", metavar="NAME", help="The programme; else the first."),
        click.option(
            "--prefer",
            type=click.Choice([seqc.LOAD_TIME, seqc.PULSES]),
            default=seqc.LOAD_TIME,
            show_default=True,
            help="What to minimise after the number of passes.",
        ),
        click.option(
            "--effort",
            type=click.Choice(list(EFFORTS)),
            default=seqc.NORMAL,
            show_default=True,
            help="How hard to look for a better plan and its proof.",
        ),
    )

    @functools.wraps(function)
    def wrapped(*args: P.args, **kwargs: P.kwargs) -> None:
        chosen: dict[str, Any] = {one.name: kwargs.pop(one.name) for one in fields(Choice)}
        _check_choice(chosen)
        kwargs["choice"] = Choice(**chosen)
        function(*args, **kwargs)

    return functools.reduce(lambda inner, option: option(inner), reversed(options), wrapped)


def _check_choice(given: Mapping[str, object]) -> None:
    """Refuse options that would have no effect."""
    chosen = [name for name in ("show", "only", "programme") if given[name] is not None]
    if len(chosen) > 1:
        raise click.UsageError(f"--{chosen[0]} and --{chosen[1]} exclude each other")
    if given["font"] is not None and "show" not in chosen:
        raise click.UsageError("--font needs --show")
    if given["grid"] is not None and chosen not in (["show"], ["only"]):
        raise click.UsageError("--on needs --show or --only")


def reports_findings(function: Body[P]) -> Body[P]:
    """Makes a command that fails end with every finding and the exit status that goes with it."""

    @functools.wraps(function)
    def wrapped(*args: P.args, **kwargs: P.kwargs) -> None:
        try:
            function(*args, **kwargs)
        except (InputError, ShortfallError) as error:
            if kwargs.get("as_json"):
                print_json({"findings": findings_document(error.findings)})
            else:
                print_findings(error.findings)
            sys.exit(UNUSABLE if isinstance(error, InputError) else FALLS_SHORT)

    return wrapped


def read_machine(
    path: Path, findings: Findings, show: str = "", whole_fonts: bool = False
) -> Machine:
    """Read a machine file and its fonts, of which a large one takes its time."""
    with progress("reading the machine"):
        return seqc.read(path, findings, show, whole_fonts, allowed_folders())


def print_folded(line: str) -> None:
    """Print a line of words, folded where it is wider than the screen."""
    from seqc.report.words import folded

    for part in folded(line, hang=2):
        click.echo(part)


def print_findings(findings: Findings) -> None:
    """Write findings with their source lines to standard error, and how many there are."""
    from seqc.report.findings_text import finding_text

    for finding in findings:
        click.echo(finding_text(finding), err=True)
    errors = sum(1 for finding in findings if finding.severity is Severity.ERROR)
    if errors:
        click.echo(f"{errors} error{'s' if errors > 1 else ''}", err=True)


def findings_document(findings: Findings) -> list[dict[str, Any]]:
    """Findings for JSON."""
    return [
        {
            "severity": finding.severity.value,
            "code": finding.code,
            "message": finding.message,
            "file": finding.place.file,
            "line": finding.place.line,
            "column": finding.place.column,
            "hint": finding.hint,
        }
        for finding in findings
    ]


def print_json(document: object) -> None:
    """Print one JSON document, in ASCII: no screen and no pipe can spoil it."""
    import json

    click.echo(json.dumps(document, indent=2))


@dataclass
class Work:
    """What a command does; of a stage of it that counts its pieces, how many are done."""

    what: str
    stage: str = ""
    over: threading.Event = field(default_factory=threading.Event)

    def hear(self, what: str, done: int, of: int) -> None:
        """Take note of how far a stage is."""
        self.stage = f", {what}: {done:,} of {of:,}"

    def __str__(self) -> str:
        return f"{self.what}{self.stage}"


@contextmanager
def progress(what: str) -> Iterator[None]:
    """Say on standard error, if it is a terminal, what goes on after two seconds, and how far."""
    work = Work(what)
    thread = threading.Thread(target=_show_progress, args=(work,), daemon=True)
    if sys.stderr.isatty():
        thread.start()
    try:
        with heard(work.hear):
            yield
    finally:
        work.over.set()
        if thread.is_alive():
            thread.join()


def _show_progress(work: Work) -> None:
    if work.over.wait(PATIENCE_S):
        return
    from rich.console import Console
    from rich.progress import Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

    columns = (SpinnerColumn(), TextColumn("{task.description}"), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as shown:
        task = shown.add_task(str(work))
        while not work.over.wait(LOOK_S):
            shown.update(task, description=str(work))
