"""Programmes and fonts to plans with their times, and what falls short in them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from seqc.face.reaching import Beyond, out_of_reach
from seqc.machine import progress
from seqc.machine.effort import EFFORTS
from seqc.machine.findings import (
    Finding,
    Findings,
    Severity,
    ShortfallError,
)
from seqc.machine.steptable import MOST_TABLES, TOO_MANY_TABLES

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from seqc.machine.effort import Effort
    from seqc.machine.glyphs import Glyph, Programme
    from seqc.machine.hot import HotCoil
    from seqc.machine.model import Machine
    from seqc.schedule.advice import Advice
    from seqc.schedule.easing import Easing
    from seqc.schedule.timing import ProgrammeTiming
    from seqc.schedule.tracks.easing import TracksEasing
    from seqc.schedule.tracks.timing import TracksTiming
    from seqc.solver.fonts import GlyphResult
    from seqc.solver.objective import Objective
    from seqc.solver.plan import ProgrammePlan

LOAD_TIME = "load time"
PULSES = "pulses"
NORMAL = "normal"
QUICK = "quick"


@dataclass(frozen=True)
class Planned:
    """A programme with its passes and its times."""

    programme: Programme
    plan: ProgrammePlan
    timing: ProgrammeTiming
    tracks: TracksTiming | None = None

    @cached_property
    def easing(self) -> Easing | None:
        """The programme with what is left of its cadence spent on wider distances, if anything."""
        from seqc.schedule.easing import ease

        return ease(self.timing) if self.tracks is None else self._tracks_easing

    @cached_property
    def _tracks_easing(self) -> TracksEasing | None:
        from seqc.schedule.tracks.easing import ease_tracks

        return None if self.tracks is None else ease_tracks(self.tracks)

    @property
    def built_tracks(self) -> TracksTiming | None:
        """The tracks as they are built, unless they are to be tight; None where it has none."""
        return self.tracks if self._tracks_easing is None else self._tracks_easing.tracks

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

    refuse(unfit(machine, programme.glyphs))
    if programme.rotations:
        return _plan_tracks(machine, programme, Objective(prefer), EFFORTS[effort])
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


def _plan_tracks(
    machine: Machine, programme: Programme, objective: Objective, effort: Effort
) -> Planned:
    """Plan and time a programme whose grids change independently of each other."""
    from seqc.schedule.tracks.kinds import shared_drives
    from seqc.schedule.tracks.planning import plan_tracks
    from seqc.schedule.tracks.timing import time_tracks

    refuse(tuple(shared_drives(machine, programme)))
    planned = plan_tracks(machine, programme, objective, effort)
    tracks = time_tracks(machine, planned, effort)
    return Planned(programme, planned.plan, tracks.timing(), tracks)


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
    from seqc.solver.fonts import LoadTimeOptions, plan_font

    glyphs = showing.font_named(machine, font).glyphs
    refuse(unfit(machine, ()))
    times = LoadTimeOptions(ScheduleClock) if prefer == LOAD_TIME else None
    told = tell or (lambda done: progress.tell("planning glyphs", done, len(glyphs)))
    return plan_font(machine, glyphs, times=times, executor=executor, progress=told)


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
        shown = programme.glyphs
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
        findings.extend(_length_findings(planned[-1]))
    return planned


def _length_findings(planned: Planned) -> Iterator[Finding]:
    """A programme that can be kept, but has a tick more than a build holds."""
    tables = 1 + len(planned.timing.ticks)
    if tables > MOST_TABLES and planned.tracks is None:
        message = (
            f"programme `{planned.programme.name}` takes {tables:,} tables, and a build holds "
            f"{MOST_TABLES:,}"
        )
        hint = "it can be planned, timed and foreseen; a shorter one can be built"
        place = planned.programme.place
        yield Finding(Severity.WARNING, TOO_MANY_TABLES, message, place, hint)


def advise(machine: Machine, planned: Planned) -> tuple[Advice, ...]:
    """What changes to the machine would do to the period of a programme, the best first.

    Changes that would do nothing are left out.
    """
    from seqc.schedule import advice

    timing = planned.timing
    return advice.advise(machine, planned.programme, timing.period_us, timing.effort)


def unfit(machine: Machine, glyphs: Iterable[Glyph]) -> tuple[Finding, ...]:
    """What keeps glyphs from being planned: too weak a supply, or pictures out of reach."""
    from seqc.machine.doubts import doubts

    weak = [found for found in doubts(machine) if found.severity is Severity.ERROR]
    lost = out_of_reach(machine, glyphs)
    return (*weak, *(finding for grid in lost for finding in grid.findings))


def refuse(found: Sequence[Finding]) -> None:
    """Raise ShortfallError where anything was found."""
    if found:
        raise ShortfallError(Findings(list(found)))
