"""The way from a machine file to checked firmware tables.

Each function is one stretch of the way and calls its stages in order: `read` a machine, choose what
it is to show with `asked`, `plan` it in passes and time, `foresee` what that does to the machine,
lay it out with `tables`, run those in the simulator with `replay`, and `build` the files of a
target from them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from seqc.machine import progress
from seqc.machine.effort import EFFORTS as EFFORTS
from seqc.machine.findings import (
    NOWHERE,
    Finding,
    Findings,
    InputError,
    Place,
    Severity,
    ShortfallError,
)

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from seqc.codegen import Target as Target
    from seqc.commission.desk import Desk
    from seqc.faults import Diagnosis, NextTable, SeenFile, TestFrames
    from seqc.forecast.relief import Relief
    from seqc.forecast.result import Forecast as Forecast
    from seqc.forecast.wear import PartWear
    from seqc.language.sketch import Lack
    from seqc.linkages.finding import Linkages as Linkages
    from seqc.machine.glyphs import Font, Frame, Glyph, Programme
    from seqc.machine.hot import HotCoil
    from seqc.machine.model import Machine
    from seqc.machine.steptable import TableSet, TablesFor
    from seqc.report.survey import FontShown as FontShown
    from seqc.report.survey import ProgrammeShown
    from seqc.report.survey import Survey as Survey
    from seqc.schedule.advice import Advice
    from seqc.schedule.commissioning import Commissioning as Commissioning
    from seqc.schedule.easing import Easing
    from seqc.schedule.timing import ProgrammeTiming
    from seqc.simulator import Fault, Replay, Samples
    from seqc.simulator.trace import Trace
    from seqc.solver.fonts import GlyphResult
    from seqc.solver.plan import ProgrammePlan
    from seqc.solver.reach.causes import Reach
    from seqc.solver.reach.nearest import Nearest
    from seqc.solver.reach.remedy import Remedy

LOAD_TIME = "load time"
PULSES = "pulses"
NORMAL = "normal"
QUICK = "quick"

LINKAGE_SHAPES = ("any cells", "connected", "in a line", "straight runs")
MOST_PASSES = 24
MOST_GLYPHS = 20


def read(
    path: Path,
    findings: Findings,
    show: str = "",
    whole_fonts: bool = False,
    allowed: Sequence[Path] = (),
) -> Machine:
    """Read a machine file and draw its fonts, the characters of the text `show` among them.

    Of a large font only what is shown is drawn, unless `whole_fonts` are wanted. Files that the
    machine file names lie in its folder, or in one that is `allowed`.
    Whatever is found goes to `findings`; raises InputError when any of it is an error.
    """
    from seqc import fonts, language

    declared = language.read(path, findings, allowed)
    machine = fonts.dress(declared, findings, wanted=show, whole=whole_fonts) if declared else None
    if machine is None or findings.has_errors:
        raise InputError(findings)
    return machine


@dataclass(frozen=True, slots=True)
class Sketch:
    """A machine with stand-ins for what its file lacks, what that is, and what else is found."""

    machine: Machine
    lacks: tuple[Lack, ...]
    findings: Findings

    @property
    def lacks_electrics(self) -> bool:
        """Whether its electrics are those of stand-ins."""
        from seqc.language.sketch import Stage

        return any(lack.stage is Stage.ELECTRICS for lack in self.lacks)


def sketch(path: Path, allowed: Sequence[Path] = ()) -> Sketch | None:
    """A machine that isn't whole yet; None where it is, or where something else is wrong with it.

    Its reach and its passes are those of the machine; its times and its electrics aren't.
    """
    from seqc import fonts, language

    findings = Findings()
    read = language.read_sketch(path, findings, allowed)
    if read is None or findings.has_errors:
        return None
    machine = fonts.dress(read.declared, findings)
    return None if findings.has_errors else Sketch(machine, read.lacks, findings)


@dataclass(frozen=True, slots=True)
class Formatted:
    """A machine file as it is and as `format` lays it out; the same where nothing is to be done."""

    path: Path
    before: str
    after: str

    @property
    def is_changed(self) -> bool:
        """Whether anything is laid out in another way."""
        return self.before != self.after


def formatted(path: Path, findings: Findings) -> Formatted:
    """Lay a machine file out anew, its comments kept and its meaning the same; writes nothing.

    Raises InputError when the file can't be read or has a syntax error.
    """
    from seqc.language import files, formatting

    before = files.read_file(path, Place(str(path), 1, 1), findings)
    after = None if before is None else formatting.formatted(before, str(path), findings)
    if before is None or after is None:
        raise InputError(findings)
    return Formatted(path, before, after)


def asked(
    machine: Machine,
    show: str | None = None,
    grid: str | None = None,
    font: str | None = None,
    programme: str | None = None,
    only: str | None = None,
) -> Programme:
    """What to show: a text, `only` one kind, or a programme by name; else the first one, or a font.

    Raises InputError when the machine has no such thing.
    """
    from seqc.fonts import showing

    if show is not None:
        return showing.show_text(machine, show, grid, font)
    if only is not None:
        return showing.all_of(machine, only, grid)
    return showing.named_programme(machine, programme)


@dataclass(frozen=True)
class Beyond:
    """A grid with glyphs out of reach: which and why, what remedies it, and that as findings."""

    reach: Reach
    remedy: Remedy
    findings: tuple[Finding, ...]


def out_of_reach(machine: Machine, glyphs: Iterable[Glyph] | None = None) -> tuple[Beyond, ...]:
    """Every grid with glyphs out of reach, of those given or else of all fonts; none if all can be.

    The repair is for all that the fonts of the grid draw, whichever glyphs are asked about.
    """
    from seqc.solver.reach.contradictions import reach_of

    drawn = dict.fromkeys(glyph for font in machine.fonts for glyph in font.glyphs)
    wanted = drawn if glyphs is None else dict.fromkeys(glyphs)
    lost = []
    for grid in machine.grids:
        reach = reach_of(machine, grid.name, [g for g in wanted if g.grid == grid.name])
        if reach is not None:
            every = [glyph for glyph in drawn | wanted if glyph.grid == grid.name]
            lost.append(_beyond(machine, reach, every))
    return tuple(lost)


def _beyond(machine: Machine, reach: Reach, glyphs: Sequence[Glyph]) -> Beyond:
    from seqc.solver.reach.remedy import findings_of, remedy_of

    remedy = remedy_of(machine, reach.grid.name, glyphs)
    return Beyond(reach, remedy, findings_of(reach, remedy))


def nearest(machine: Machine, beyond: Beyond) -> Iterator[Nearest]:
    """For each glyph out of reach in turn the picture within reach with the fewest wrong cells."""
    from seqc.solver.reach.nearest import nearest_picture

    return (nearest_picture(machine, glyph) for glyph in beyond.reach.beyond)


@dataclass(frozen=True)
class Planned:
    """A programme with its passes and its times."""

    programme: Programme
    plan: ProgrammePlan
    timing: ProgrammeTiming

    @cached_property
    def easing(self) -> Easing | None:
        """The programme with what is left of its cadence spent on wider distances, if anything."""
        from seqc.schedule.easing import ease

        return ease(self.timing)

    @property
    def built(self) -> ProgrammeTiming:
        """The times as they are built, unless they are to be tight."""
        return self.timing if self.easing is None else self.easing.timing


def plan(
    machine: Machine, programme: Programme, prefer: str = LOAD_TIME, effort: str = NORMAL
) -> Planned:
    """Plan and time a programme from the home position on.

    After the fewest passes comes what is preferred, LOAD_TIME or PULSES, and then the other. What
    can't be proven best within the effort, one of EFFORTS, has a bound.
    Raises ShortfallError with every cause when a frame can't be shown, or when a supply can't feed
    a coil.
    """
    from seqc.schedule.clock import ScheduleClock
    from seqc.schedule.timing import time_programme
    from seqc.solver.objective import Objective
    from seqc.solver.positions import home
    from seqc.solver.programme import plan_programme

    _refuse(_unfit(machine, programme.frames))
    planned = plan_programme(
        machine,
        programme.frames,
        home(len(machine.actuators)),
        repeat=programme.repeat,
        clock=ScheduleClock(machine),
        objective=Objective(prefer),
        effort=EFFORTS[effort],
    )
    timing = time_programme(machine, planned, programme.every_us, EFFORTS[effort])
    return Planned(programme, planned, timing)


def plan_whole_font(
    machine: Machine,
    font: str | None = None,
    prefer: str = LOAD_TIME,
    *,
    executor: Executor | None = None,
    tell: Callable[[int], object] | None = None,
) -> Iterator[GlyphResult]:
    """Plan every glyph of a font by itself from any position, on every core; in order.

    Without a name the first font is meant. Where PULSES are preferred nothing is put into time,
    which takes some hundredth of the time. Any executor of `concurrent.futures` serves; `tell`
    hears how many glyphs are done. Raises InputError when there is no such font, ShortfallError
    when a supply can't feed a coil.
    """
    from seqc.fonts import showing
    from seqc.schedule.clock import ScheduleClock
    from seqc.solver.fonts import LoadTimes, plan_font

    glyphs = showing.font_named(machine, font).glyphs
    _refuse(_unfit(machine, ()))
    times = LoadTimes(ScheduleClock) if prefer == LOAD_TIME else None
    told = tell or (lambda done: progress.tell("planning glyphs", done, len(glyphs)))
    return plan_font(machine, glyphs, times=times, executor=executor, progress=told)


def tables(
    machine: Machine,
    programme: Programme,
    tables_for: TablesFor,
    slower: bool = False,
    prefer: str = LOAD_TIME,
    effort: str = NORMAL,
    tight: bool = False,
) -> TableSet:
    """Lay a programme out as step tables, or the different frames of it as tables of their own.

    Tables of commissioning are made by `commissioning`. A programme uses the rest of its cadence
    for wider distances, unless it is to be `tight`. Raises ShortfallError as `plan` does, or when a
    programme doesn't keep its cadence unless it may be `slower`.
    """
    from seqc.machine.steptable import TablesFor
    from seqc.schedule.clock import ScheduleClock
    from seqc.schedule.tables import glyph_tables, transition_tables
    from seqc.solver.objective import Objective
    from seqc.solver.separate import Separate

    if tables_for is TablesFor.PROGRAMME:
        planned = plan(machine, programme, prefer, effort)
        if not slower:
            _refuse(cadence_findings(planned))
        return laid_out(machine, planned, tight)
    frames = tuple(dict.fromkeys(programme.frames))
    _refuse(_unfit(machine, frames))
    separate = Separate(machine, ScheduleClock(machine), Objective(prefer), EFFORTS[effort])
    if tables_for is TablesFor.GLYPH:
        return glyph_tables(machine, separate.plan_each(frames))
    if tables_for is TablesFor.TRANSITION:
        return transition_tables(machine, separate.plan_transitions(frames))
    raise ValueError("tables of commissioning aren't made of a programme")


def commissioning(
    machine: Machine, effort: str = QUICK, *, with_test_frames: bool = True
) -> Commissioning:
    """The small tables with which a machine is brought up; any of them may follow any, at once.

    What can't be made is left out and named. To find test frames takes the longest. Raises
    ShortfallError when a supply can't feed a coil.
    """
    from seqc.schedule import commissioning as small

    _refuse(_unfit(machine, ()))
    frames = _test_frames(machine) if with_test_frames else ()
    return small.commissioning(machine, frames, EFFORTS[effort])


def _test_frames(machine: Machine) -> tuple[tuple[str, Glyph], ...]:
    """The pictures of the frames that reveal faults, each with the name of its table."""
    several = len(machine.grids) > 1
    return tuple(
        (f"test {number}{f' on {glyph.grid}' if several else ''}", glyph)
        for number, frame in enumerate(find_test_frames(machine).telling, 1)
        for glyph in frame
    )


def commissioning_choices(made: Commissioning) -> tuple[tuple[Commissioning, ...], ...]:
    """All tables in one set, and every other way in which a controller we know may have them."""
    known = (divided(made, target) for target in known_targets() if target.budget is not None)
    ways = {tuple(len(one.named) for one in parts): parts for parts in known}
    return tuple({(len(made.named),): (made,), **ways}.values())


def commissioning_sheet(made: Commissioning) -> tuple[str, ...]:
    """The bring-up as a checklist for paper, line by line."""
    from seqc.commission.sheet import sheet_lines

    return tuple(sheet_lines((made,)))


def commissioning_document(made: Commissioning) -> dict[str, object]:
    """The steps of the bring-up with their tables, for JSON."""
    from seqc.commission.sheet import sheet_document

    return sheet_document((made,))


def serial_ports() -> tuple[tuple[str, str], ...]:
    """The serial ports of this computer, each with what hangs on it; raises InputError."""
    from seqc.commission.ports import serial_ports as listed

    return tuple((port.device, port.words) for port in listed())


def desk(
    made: Commissioning,
    record: Path,
    port: str | None = None,
    *,
    faults: int = 0,
    seed: int | None = None,
) -> Desk:
    """What a machine is commissioned at: its terminal, its page, and the line to its controller.

    Without a `port` the controller and the machine are emulated, with so many secret `faults`.
    Raises InputError where the record can't be used.
    """
    from seqc.commission.desk import emulated_desk, serial_desk

    choices = commissioning_choices(made)
    if port is not None:
        return serial_desk(choices, record, port)
    return emulated_desk(choices, record, faults, seed)


def cadence_findings(planned: Planned) -> tuple[Finding, ...]:
    """The cadence that a programme needs, and what limits it; none if its own is kept."""
    from seqc.machine.electrics import ceil_div

    timing = planned.timing
    if timing.kept:
        return ()
    enough_ms = ceil_div(timing.period_us, 1000)
    message = (
        f"programme `{planned.programme.name}` needs {enough_ms} ms a frame, but its cadence is "
        f"{timing.cadence_us / 1000:.10g} ms; write `every {enough_ms} ms`"
    )
    hint = (
        "`seqc check --advise` tells what would shorten it, and `--slower` builds it at the "
        "shortest cadence that is kept"
    )
    hint += f"; critical path: {timing.limits}" if timing.limits else ""
    place = planned.programme.place
    return (Finding(Severity.ERROR, "cadence-not-kept", message, place, hint),)


def hot_coils(machine: Machine, planned: Iterable[Planned]) -> tuple[HotCoil, ...]:
    """The coils of each type as hot as the hottest programme makes them, or as the air alone."""
    from seqc.forecast.programme import duty_of
    from seqc.machine import hot
    from seqc.machine.duty import at_rest

    uses = [duty_of(machine, one.built) for one in planned] or [at_rest(machine)]
    found: dict[tuple[str, str], HotCoil] = {}
    for use in uses:
        for coil in hot.hot_coils(machine, use):
            key = (coil.actuator.coil.name, coil.actuator.drive.supply.name)
            if key not in found or coil.hot_c > found[key].hot_c:
                found[key] = coil
    return tuple(found.values())


def overloads(machine: Machine, planned: Iterable[Planned]) -> tuple[Finding, ...]:
    """The supplies that programmes ask for more than they give, relays and controller included."""
    from seqc.forecast.programme import duty_of
    from seqc.machine.electric_findings import electric_findings

    found = [electric_findings(machine, duty_of(machine, one.built)) for one in planned]
    return tuple(each for some in found for each in some if each.code == "over-current")


def foresee(
    machine: Machine,
    planned: Planned,
    duration_us: int,
    ambient_c: float,
    price_per_kwh: float | None = None,
    budget: float | None = None,
    used: Mapping[str, int] | None = None,
) -> Forecast:
    """What a programme does to its machine in a time: wear, heat, energy and its cost, stock.

    `used` tells how often parts have operated before, as `recorded` gives it. Where contacts are
    worn out first the programme is planned once more, with pulse switches.
    """
    from seqc.forecast.programme import bursts_of, on_times_us, peaks_of, run_of
    from seqc.forecast.result import Conditions, forecast

    timing = planned.built
    run = run_of(machine, timing)
    burst_us, burst_a2s = bursts_of(timing)
    on_us = on_times_us(machine, timing)
    given = Conditions(
        peaks_of(timing), ambient_c, price_per_kwh, budget, burst_a2s, burst_us, on_us
    )
    result = forecast(machine, planned.programme.name, run, duration_us, given, used)
    if not result.parts or not result.parts[0].switched_hours:
        return result
    first = result.parts[0]
    return replace(result, relief=_relief(machine, planned, first, duration_us, used or {}))


def recorded(machine: Machine, record: Path) -> dict[str, int]:
    """How often each part has operated since it was built in, by a record of commissioning.

    Raises InputError where there is no such record of this machine.
    """
    from seqc.commission.operations import operations
    from seqc.commission.record import read

    return operations(machine, read(record, machine.name))


def _relief(
    machine: Machine, planned: Planned, first: PartWear, duration_us: int, used: Mapping[str, int]
) -> Relief:
    """What fails first with pulse switches, and what becomes of the period."""
    from seqc.forecast.programme import run_of
    from seqc.forecast.relief import Relief
    from seqc.forecast.tally import tally
    from seqc.forecast.wear import wear
    from seqc.machine.variants import with_pulse_switches

    switched = with_pulse_switches(machine)
    again = plan(switched, planned.programme, planned.plan.objective.value, "quick")
    parts = wear(switched, tally(switched, run_of(switched, again.timing), duration_us), used)
    periods = planned.timing.period_us, again.timing.period_us
    return Relief(first, parts[0], *periods, again.timing.kept)


def plan_all(
    machine: Machine,
    programmes: Iterable[Programme],
    lost: Sequence[Beyond],
    findings: Findings,
    prefer: str = LOAD_TIME,
    effort: str = NORMAL,
) -> list[Planned]:
    """Plan every programme that is within reach; what falls short goes to the findings."""
    beyond = {glyph for grid in lost for glyph in grid.reach.beyond}
    planned: list[Planned] = []
    for programme in programmes:
        shown = dict.fromkeys(glyph for frame in programme.frames for glyph in frame)
        count = sum(glyph in beyond for glyph in shown)
        if count:
            message = f"programme `{programme.name}` can't show {count} of its {len(shown)} glyphs"
            findings.error("programme-out-of-reach", message, programme.place)
            continue
        try:
            planned.append(plan(machine, programme, prefer, effort))
        except ShortfallError as error:
            findings.extend(error.findings)
            continue
        findings.extend(cadence_findings(planned[-1]))
    return planned


def survey(
    machine: Machine,
    programmes: Sequence[Programme],
    findings: Findings,
    duration_us: int,
    ambient_c: float,
    prefer: str = LOAD_TIME,
    effort: str = NORMAL,
) -> Survey:
    """Everything that a page tells of a machine: verdict, programmes, glyphs in time, forecast.

    What falls short goes to the findings, as `check`, `simulate` and `forecast` tell it.
    """
    from seqc.machine.doubts import doubts
    from seqc.machine.hot import hot_findings
    from seqc.report.survey import Survey

    findings.extend(doubts(machine))
    lost = out_of_reach(machine)
    findings.extend(found for grid in lost for found in grid.findings)
    planned = plan_all(machine, programmes, lost, findings, prefer, effort)
    hot = hot_coils(machine, planned)
    findings.extend((*hot_findings(hot), *overloads(machine, planned)))
    shown = tuple(_in_time(machine, one, duration_us, ambient_c) for one in planned)
    findings.extend(found for one in shown for found in one.forecast.findings)
    findings.extend(found for one in shown for found in _told(machine, one.faults))
    beyond = frozenset(glyph for grid in lost for glyph in grid.reach.beyond)
    weak = any(found.severity is Severity.ERROR for found in doubts(machine))
    fonts = () if weak else fonts_in_time(machine, beyond, prefer)
    return Survey(machine, findings, shown, fonts, hot)


def traced(machine: Machine, table_set: TableSet) -> Trace:
    """What every table of a build does, home first, each different thing once.

    A programme that repeats goes on until it finds the machine as it did before.
    """
    from seqc.simulator.trace import trace

    repeat_from = table_set.repeat_from
    again = () if repeat_from is None else table_set.tables[repeat_from:]
    return trace(machine, progress.counted("tracing tables", list(table_set)), again)


def laid_out(machine: Machine, planned: Planned, tight: bool = False) -> TableSet:
    """A programme as step tables at its cadence, or at the shortest that is kept.

    The rest of the cadence is used for wider distances, unless they are to be `tight`.
    """
    from seqc.schedule.tables import programme_tables

    easing = None if tight else planned.easing
    if easing is None:
        return programme_tables(machine, planned.timing)
    return programme_tables(machine, easing.timing, easing.relaxed)


def _in_time(
    machine: Machine, planned: Planned, duration_us: int, ambient_c: float
) -> ProgrammeShown:
    """A programme laid out, traced and foreseen."""
    from seqc.report.survey import ProgrammeShown

    table_set = laid_out(machine, planned)
    programme = planned.programme
    faults = replay(machine, table_set, programme).faults
    return ProgrammeShown(
        programme,
        planned.timing,
        table_set,
        traced(machine, table_set),
        faults or replay_bounds(machine, table_set, programme).faults,
        foresee(machine, planned, duration_us, ambient_c),
    )


def fonts_in_time(
    machine: Machine, beyond: frozenset[Glyph], prefer: str = LOAD_TIME
) -> tuple[FontShown, ...]:
    """Every font that isn't like another one, its glyphs planned each by itself and traced.

    Those `beyond` reach are only drawn.
    """
    alike: dict[object, list[Font]] = {}
    for font in machine.fonts:
        pictures = tuple((glyph.name, glyph.kinds) for glyph in font.glyphs)
        alike.setdefault((font.grid.cells, pictures), []).append(font)
    return tuple(_font_in_time(machine, fonts, beyond, prefer) for fonts in alike.values())


def _font_in_time(
    machine: Machine, alike: Sequence[Font], beyond: frozenset[Glyph], prefer: str
) -> FontShown:
    """The first of some fonts that draw the same, each of its glyphs as a table of its own."""
    from seqc.report.survey import MOST_GLYPHS, FontShown, GlyphShown
    from seqc.schedule.clock import ScheduleClock
    from seqc.schedule.frame import time_on
    from seqc.schedule.tables import timed_glyph_tables
    from seqc.schedule.topology import playable
    from seqc.solver.fonts import LoadTimes, plan_font

    font, *others = alike
    chosen = font.glyphs[:MOST_GLYPHS]
    reached = [glyph for glyph in chosen if glyph not in beyond]
    times = LoadTimes(ScheduleClock) if prefer == LOAD_TIME else None
    plans = [result.plan for result in plan_font(machine, reached, times=times)]
    topology = playable(machine)
    timed = {plan.frame.glyphs[0]: (plan, time_on(topology, plan)) for plan in plans if plan}
    table_set = timed_glyph_tables(machine, timed.values())
    before = len(list(table_set)) - len(timed)
    runs = {glyph: before + rank for rank, glyph in enumerate(timed)}
    shown = tuple(
        GlyphShown(glyph, *timed[glyph], runs[glyph]) if glyph in timed else GlyphShown(glyph)
        for glyph in chosen
    )
    names = tuple(other.name for other in others)
    left_out = len(font.glyphs) - len(chosen)
    return FontShown(font, names, shown, table_set, traced(machine, table_set), left_out)


def advise(machine: Machine, planned: Planned) -> tuple[Advice, ...]:
    """What changes to the machine would do to the period of a programme, the best first.

    Changes that would do nothing are left out.
    """
    from seqc.schedule import advice

    timing = planned.timing
    return advice.advise(machine, planned.programme, timing.period_us, timing.effort)


def replay(
    machine: Machine, table_set: TableSet, wanted: Programme | None = None, stock: bool = False
) -> Replay:
    """Run every table of a build in the simulator, from power-on.

    What is seen is held against the glyphs of the programme `wanted`, or else against those of the
    machine's fonts. Items come back to their magazines unless `stock` is to be counted. Tables of
    commissioning each run on the machine that they are for.
    """
    from seqc import simulator
    from seqc.simulator.trial import misfits, trial

    if (made := _small(machine, table_set)) is not None:
        from seqc.commission import proof

        return proof.replayed(made, table_set, stock)
    glyphs, endless = _glyphs(wanted), table_set.repeat_from is not None
    trials = progress.counted("replaying tables", list(trial(table_set)))
    result = simulator.check(machine, trials, glyphs, stock=stock, endless=endless)
    return replace(result, faults=(*misfits(machine, table_set), *result.faults))


def replay_bounds(machine: Machine, table_set: TableSet, wanted: Programme | None = None) -> Replay:
    """Run every table of a build with each event between its earliest and its latest time.

    What any machine within the tolerances of its parts could break is a fault.
    """
    from seqc import simulator
    from seqc.simulator.trial import trial

    if (made := _small(machine, table_set)) is not None:
        from seqc.commission import proof

        return proof.replayed_bounds(made, table_set)
    endless = table_set.repeat_from is not None
    return simulator.check_bounds(machine, trial(table_set), _glyphs(wanted), endless=endless)


def sample(
    machine: Machine,
    table_set: TableSet,
    wanted: Programme | None = None,
    *,
    count: int,
    seed: int = 0,
    anew: bool = False,
) -> Samples:
    """Run every table of a build on `count` machines with parts drawn within their tolerances.

    Of tables of commissioning those for tuning are left out.
    """
    from seqc import simulator
    from seqc.simulator.trial import trial

    if (made := _small(machine, table_set)) is not None:
        from seqc.commission import proof

        wanted = made.wanted
        _, table_set = next(proof.each_machine(made, table_set))
    return simulator.sample(
        machine,
        trial(table_set),
        _glyphs(wanted),
        count=count,
        seed=seed,
        anew=anew,
        endless=table_set.repeat_from is not None,
    )


def _small(machine: Machine, table_set: TableSet) -> Commissioning | None:
    """The tables of commissioning that a set was made of, by their names; None if it is none."""
    from seqc.machine.steptable import TablesFor

    if table_set.tables_for is not TablesFor.COMMISSIONING:
        return None
    names = {table.name for table in table_set.tables}
    tested = any(name.startswith("test ") for name in names)
    made = commissioning(machine, with_test_frames=tested)
    return made.part(one for one in made.named if one.name in names)


def _glyphs(wanted: Programme | None) -> dict[tuple[str, str], tuple[str, ...]]:
    """The pictures of a programme by grid and name."""
    frames = wanted.frames if wanted else ()
    return {(glyph.grid, glyph.name): glyph.kinds for frame in frames for glyph in frame}


def find_linkages(
    path: Path,
    findings: Findings,
    *,
    show: str | None = None,
    reserve: str = "",
    font: str | None = None,
    shape: str = "any cells",
    every_picture: bool = False,
    built: Sequence[str] = (),
    most_passes: int = MOST_PASSES,
    executor: Executor | None = None,
) -> Linkages:
    """The designs of linkages worth showing for a font, from a machine file or a font file.

    What the file lacks is filled in with typical parts. The glyphs of `show`, or all of the font,
    are to be shown; those of `reserve` are to be within reach. `shape` is one of LINKAGE_SHAPES,
    `built` names what is there already. Raises InputError when the file can't be understood.
    """
    from seqc.linkages.finding import Asked, find
    from seqc.linkages.question import Shape

    asked = Asked(show, reserve, font, Shape(shape), every_picture, tuple(built), most_passes)
    return find(path, asked, findings, executor)


def find_test_frames(machine: Machine, only: Sequence[str] = ()) -> TestFrames:
    """The fewest frames that reveal every fault of a machine, and that tell faults apart.

    They are made of some kinds `only` where any are named. Raises InputError when a machine has no
    such kind, ShortfallError when a supply can't feed a coil.
    """
    from seqc import faults
    from seqc.machine.wording import did_you_mean

    findings = Findings()
    known = list(dict.fromkeys(item.name for lane in machine.lanes for item in lane.items))
    for kind in only:
        if kind not in known:
            what = f"no lane of the machine offers an item `{kind}`"
            findings.error("unknown-name", what, machine.place, did_you_mean(kind, known))
    if findings.has_errors:
        raise InputError(findings)
    _refuse(_unfit(machine, ()))
    return faults.find_test_frames(machine, only)


@dataclass(frozen=True)
class Diagnosed:
    """What was seen, what explains it, and the frame to play next if one tells more, by name."""

    seen: SeenFile
    diagnosis: Diagnosis
    next_frame: tuple[str, Frame, NextTable] | None = None


def diagnose(
    machine: Machine,
    path: Path,
    findings: Findings,
    only: Sequence[str] = (),
    handled: Sequence[str] = (),
    is_new: bool = False,
) -> Diagnosed:
    """What is wrong with a machine, from a file of what was seen of some frames.

    Test frames that the file speaks of are those of `find_test_frames`. `handled` names actuators
    that were worked on last; a machine `is_new` until it has worked once. Raises InputError when
    the file or a name can't be understood, ShortfallError when a picture that was asked for is out
    of reach.
    """
    from functools import cache

    from seqc import faults
    from seqc.language import files

    tests = cache(lambda: find_test_frames(machine, only).telling)
    text = files.read_file(path, Place(str(path), 1, 1), findings)
    seen = None if text is None else faults.read_seen(text, str(path), machine, tests, findings)
    _known(machine, handled, findings)
    if seen is None or findings.has_errors:
        raise InputError(findings)
    frames = tuple(dict.fromkeys(play.frame for play in seen.plays))
    _refuse(_unfit(machine, frames))
    table_of = dict(zip(frames, faults.plain_tables(machine, frames).tables, strict=True))
    home = faults.home_of(faults.plain_tables(machine, ()))
    evidence = faults.Evidence(handled=handled, is_new=is_new)
    examiner = faults.Examiner(machine, home, before=seen.before, evidence=evidence)
    for play in seen.plays:
        examiner.play(table_of[play.frame])
    found = examiner.diagnosed([play.seen for play in seen.plays])
    if sum(len(suspect.causes) for suspect in found.suspects) < 2:
        return Diagnosed(seen, found)
    named = {f"test {number}": frame for number, frame in enumerate(tests(), 1)}
    named |= {f'frame "{name}"': frame for name, frame in _glyph_frames(machine)}
    tables = faults.plain_tables(machine, tuple(named.values())).tables
    narrowing = faults.next_table(examiner, found, tables)
    if narrowing is None:
        return Diagnosed(seen, found)
    return Diagnosed(seen, found, ([*named.items()][narrowing.number] + (narrowing,)))


def _known(machine: Machine, actuators: Iterable[str], findings: Findings) -> None:
    """Report actuators that the machine doesn't have."""
    from seqc.machine.wording import did_you_mean

    known = [actuator.name for actuator in machine.actuators]
    for name in actuators:
        if name not in known:
            what = f"the machine has no actuator `{name}`"
            findings.error("unknown-name", what, machine.place, did_you_mean(name, known))


def _glyph_frames(machine: Machine) -> list[tuple[str, Frame]]:
    """A few frames of the first font, those within reach."""
    from seqc.machine.glyphs import Frame

    glyphs = machine.fonts[0].glyphs[:MOST_GLYPHS] if machine.fonts else ()
    lost = {glyph for beyond in out_of_reach(machine, glyphs) for glyph in beyond.reach.beyond}
    return [(glyph.name, Frame((glyph,))) for glyph in glyphs if glyph not in lost]


def known_targets(extra: Path | None = None) -> tuple[Target, ...]:
    """Every target that code can be generated for; `extra` is a folder of further ones."""
    from seqc import codegen

    return codegen.targets(extra)


def targets_named(names: Iterable[str], extra: Path | None = None) -> tuple[Target, ...]:
    """Targets by their names; raises InputError when there is none of that name."""
    known = {target.name: target for target in known_targets(extra)}
    findings = Findings()
    for name in names:
        if name not in known:
            hint = f"it is one of {', '.join(known)}"
            findings.error("unknown-target", f"there is no target `{name}`", NOWHERE, hint)
    if findings.has_errors:
        raise InputError(findings)
    return tuple(known[name] for name in dict.fromkeys(names))


def build(
    machine: Machine,
    wanted: Programme,
    table_set: TableSet,
    chosen: Sequence[Target],
    out: Path,
) -> tuple[Path, ...]:
    """Write the files of each target into a folder of its name below `out`, all or none.

    The step tables are read back from what is to be written and run in the simulator first, with
    nominal parts and with all that they may vary to; it must see what is `wanted`. Raises
    ShortfallError when it finds a fault, InputError when the folder can't be written.
    """
    from seqc import codegen

    files: dict[str, str] = {}
    proven: list[TableSet] = []
    rendered = codegen.render_all(chosen, machine, table_set)
    for target in chosen:
        written = codegen.proven(target, rendered[target.name]) or table_set
        if written not in proven:
            _refuse(_faults(machine, wanted, written))
            proven.append(written)
        files |= {f"{target.name}/{name}": text for name, text in rendered[target.name].items()}
    return codegen.write_files(files, out)


def divided(commissioning: Commissioning, target: Target) -> tuple[Commissioning, ...]:
    """The tables in as many sets as a target's controller needs, each with `park`; often one."""
    from seqc.codegen.division import divided as numbers_of
    from seqc.schedule.commissioning import Step

    named = commissioning.named
    kinds = [f"{one.grid} {one.step}" for one in named]
    always = [number for number, one in enumerate(named) if one.step is Step.PARKING]
    parts = numbers_of(target, commissioning.machine, commissioning.table_set, kinds, always)
    return tuple(commissioning.part(named[number] for number in part) for part in parts)


def build_commissioning(
    commissioning: Commissioning, chosen: Sequence[Target], out: Path
) -> tuple[Path, ...]:
    """Write the tables of commissioning for each target below `out`, with a list of their names.

    Where a controller is too small for all of them, each part has a folder `part_N` of its own.
    Every table is proven on the machine that it is for. Raises as `build` does.
    """
    from seqc import codegen

    files: dict[str, str] = {}
    rows: dict[str, tuple[Commissioning, ...]] = {}
    for target in chosen:
        rows[target.name] = parts = divided(commissioning, target)
        for number, part in enumerate(parts, 1):
            folder = f"part_{number}/{target.name}" if len(parts) > 1 else target.name
            rendered = codegen.render(target, part.machine, part.table_set)
            written = codegen.proven(target, rendered) or part.table_set
            _refuse(commissioning_faults(part, written))
            files |= {f"{folder}/{name}": text for name, text in rendered.items()}
    files["commissioning.csv"] = _list_of_names(rows)
    return codegen.write_files(files, out)


def commissioning_faults(part: Commissioning, table_set: TableSet) -> tuple[Finding, ...]:
    """What the simulator finds wrong with tables, each run on the machine that it is for."""
    from seqc.commission import proof

    if len(table_set.tables) != len(part.named):
        raise ValueError("the tables aren't those that were made")
    return tuple(dict.fromkeys(_findings(part.machine, proof.replayed(part, table_set))))


def _list_of_names(parts: Mapping[str, Sequence[Commissioning]]) -> str:
    """The names of the tables by target, part and number, as CSV."""
    import csv
    import io

    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\n")
    rows.writerow(("target", "part", "number", "table", "step", "grid", "milliseconds"))
    for target, several in parts.items():
        for part, commissioning in enumerate(several, 1):
            for number, one in enumerate(commissioning.named):
                length = -(-one.table.length_us // 1000)
                rows.writerow((target, part, number, one.name, one.step, one.grid, length))
    return text.getvalue()


def write_files(files: Mapping[str, str], out: Path) -> tuple[Path, ...]:
    """Write texts by file name into a folder, all or none; raises InputError if that can't be."""
    from seqc import codegen

    return codegen.write_files(files, out)


def sizes(machine: Machine, table_set: TableSet, chosen: Iterable[Target]) -> tuple[str, ...]:
    """What a build takes of each target's controller, a line for each whose size is known."""
    from seqc.codegen.rendering import sizes as sizes_on

    found = [(target, sizes_on(target, machine, table_set)) for target in chosen]
    return tuple(f"{target.title}: {taken}" for target, taken in found if taken)


def read_tables(path: Path, extra: Path | None = None) -> TableSet:
    """Read step tables back from a folder that a build has written for one target.

    Raises InputError when no target reads what is there.
    """
    from seqc import codegen
    from seqc.codegen.folder import read_folder

    return read_folder(path, codegen.targets(extra))


def _faults(machine: Machine, wanted: Programme, table_set: TableSet) -> tuple[Finding, ...]:
    """What the simulator finds wrong with a build, a picture that it can't judge included.

    It runs the nominal machine, and all that could be built of parts within their tolerances.
    """
    return _findings(machine, replay(machine, table_set, wanted)) or _told(
        machine,
        replay_bounds(machine, table_set, wanted).faults,
        "finds with parts that vary as declared",
    )


def _findings(machine: Machine, result: Replay) -> tuple[Finding, ...]:
    """The faults of a replay, and the pictures that it couldn't judge."""
    unknown = [
        ("unknown-picture", f"finds: what {table} shows is not known") for table in result.unchecked
    ]
    return (*_told(machine, result.faults), *_simulated(machine, unknown))


def _told(machine: Machine, faults: Iterable[Fault], finds: str = "finds") -> tuple[Finding, ...]:
    """What the simulator finds wrong, as findings."""
    return _simulated(machine, ((str(fault.kind), f"{finds}: {fault}") for fault in faults))


def _simulated(machine: Machine, found: Iterable[tuple[str, str]]) -> tuple[Finding, ...]:
    return tuple(
        Finding(Severity.ERROR, code, f"the simulator {what}", machine.place)
        for code, what in found
    )


def _unfit(machine: Machine, frames: Iterable[Frame]) -> tuple[Finding, ...]:
    """What keeps frames from being planned: too weak a supply, or pictures out of reach."""
    from seqc.machine.doubts import doubts

    weak = [found for found in doubts(machine) if found.severity is Severity.ERROR]
    lost = out_of_reach(machine, (glyph for frame in frames for glyph in frame))
    return (*weak, *(finding for grid in lost for finding in grid.findings))


def _refuse(found: Sequence[Finding]) -> None:
    if found:
        raise ShortfallError(Findings(list(found)))
