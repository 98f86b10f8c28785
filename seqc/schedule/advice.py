"""What would make a programme faster: the period of machines with one thing changed.

Nothing is guessed: each changed machine is planned and scheduled as the machine itself was.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from seqc.machine.effort import NORMAL, Effort
from seqc.machine.electrics import Coil, ceil_div
from seqc.machine.glyphs import Programme
from seqc.machine.model import Machine
from seqc.machine.motion import RIGHT_ANGLE_MDEG
from seqc.machine.parts import Part, Path
from seqc.machine.progress import counted
from seqc.machine.span import Tolerance
from seqc.machine.variants import (
    with_coil,
    with_path,
    with_rows_and_columns_swapped,
    with_supply,
)
from seqc.schedule.clock import ScheduleClock
from seqc.schedule.timing import time_programme
from seqc.schedule.tracks.planning import plan_tracks
from seqc.schedule.tracks.timing import time_tracks
from seqc.solver.needs import OutOfReachError
from seqc.solver.objective import Objective
from seqc.solver.positions import home
from seqc.solver.programme import plan_programme

MORE_SUPPLY = 2
SHORTER_PULSE = (3, 4)
STEEPER_MDEG = 5_000


@dataclass(frozen=True, slots=True)
class Advice:
    """What to change, and the period with it; None if the programme can't be shown then."""

    change: str
    period_us: int | None


def advise(
    machine: Machine, programme: Programme, now_us: int, effort: Effort = NORMAL
) -> tuple[Advice, ...]:
    """The period of a programme under each change, the shortest first.

    Changes that leave it at `now_us`, what it is without any, are left out.
    The changes are a supply of twice the limit, pulses three quarters as long, slopes five degrees
    steeper, and rows and columns swapped.
    """
    variants = list(_variants(machine))
    tried = [
        Advice(change, period_us(variant, programme, effort))
        for change, variant in counted("trying changes", variants)
    ]
    found = [advice for advice in tried if advice.period_us != now_us]
    return tuple(sorted(found, key=lambda advice: (advice.period_us is None, advice.period_us)))


def period_us(machine: Machine, programme: Programme, effort: Effort = NORMAL) -> int | None:
    """The period of a programme; None if a frame can't be shown."""
    start, clock = home(len(machine.actuators)), ScheduleClock(machine)
    try:
        if programme.rotations:
            tracks = plan_tracks(machine, programme, Objective.LOAD_TIME, effort)
            return time_tracks(machine, tracks, effort).period_us
        plan = plan_programme(
            machine, programme.frames, start, repeat=programme.repeat, clock=clock, effort=effort
        )
    except OutOfReachError:
        return None
    return time_programme(machine, plan, programme.every_us, effort).period_us


def _variants(machine: Machine) -> Iterator[tuple[str, Machine]]:
    for supply in machine.supplies:
        larger = replace(supply, limit_ua=MORE_SUPPLY * supply.limit_ua)
        change = f"supply {supply.name}: limit {larger.limit_ua / 1e6:g} A"
        yield change, with_supply(machine, larger)
    parts: tuple[Part, ...] = (*machine.selectors, *machine.gates)
    for coil in {part.coil.name: part.coil for part in parts}.values():
        shorter = _shorter(coil)
        if shorter is None:
            continue
        change = f"coil {coil.name}: pulse {shorter.pulse_us / 1000:g} ms, if it still latches"
        yield change, with_coil(machine, shorter)
    paths = {(path.source, path.target): path for lane in machine.lanes for path in lane.paths}
    for path in paths.values():
        steeper = _steeper(path)
        if steeper and steeper.slope:
            angle = steeper.slope.angle_mdeg / 1000
            change = f"path {path.source} to {path.target}: at {angle:g} deg"
            yield change, with_path(machine, steeper)
    yield "rows and columns swapped", with_rows_and_columns_swapped(machine)


def _shorter(coil: Coil) -> Coil | None:
    """The coil with a shorter pulse, but one that lasts while the part moves; None if it does."""
    part, whole = SHORTER_PULSE
    pulse_us = max(coil.pulse_us * part // whole, coil.travel_us)
    return replace(coil, pulse_us=pulse_us) if pulse_us < coil.pulse_us else None


def _steeper(path: Path) -> Path | None:
    """The path at a steeper slope, None where nothing rolls or nothing is steeper."""
    if path.slope is None or path.slope.angle_mdeg + STEEPER_MDEG > RIGHT_ANGLE_MDEG:
        return None
    slope = replace(path.slope, angle_mdeg=path.slope.angle_mdeg + STEEPER_MDEG)
    around = path.fall_tolerance
    # The quickest item is as much quicker there as the slowest, to first order.
    off = (ceil_div(us * slope.time_us, path.fall_us) for us in (around.under_us, around.over_us))
    return replace(path, slope=slope, fall_us=slope.time_us, fall_tolerance=Tolerance(*off))
