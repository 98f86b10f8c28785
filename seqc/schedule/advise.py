"""What would make a programme quicker: the period, computed anew with one thing changed."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from seqc.machine.electrics import Coil, Supply
from seqc.machine.glyphs import Programme
from seqc.machine.model import Machine
from seqc.machine.parts import Path
from seqc.schedule import variants
from seqc.schedule.search import EFFORT
from seqc.schedule.timing import ProgrammeTiming, time_programme
from seqc.solver.conflicts import Unreachable
from seqc.solver.positions import home
from seqc.solver.programme import plan_programme

MORE_PERCENT = (25, 100)
"""By how much a supply is enlarged."""

PULSE_QUARTERS = 3
"""To how many quarters of its length a pulse is cut."""


@dataclass(frozen=True, slots=True)
class Advice:
    """A change to the machine in words, and the period with it; `proven` where that is shortest.

    `gain_us` is how much shorter the period is than now, less than nothing where it is longer.
    """

    change: str
    period_us: int
    gain_us: int
    proven: bool


def advise(machine: Machine, programme: Programme, effort: int = EFFORT) -> tuple[Advice, ...]:
    """The period of a programme with each of several changes, the best first.

    Supplies with more current, coils with a shorter pulse, paths twice as steep, rows and columns
    of the linkages swapped: each is planned and scheduled as the machine itself is. A change under
    which a frame can't be shown, or which leaves the machine as it is, is left out.
    """
    now = _timing(machine, programme, effort)
    found = []
    for change, variant in _variants(machine):
        try:
            timing = _timing(variant, programme, effort)
        except Unreachable:
            continue
        gain = now.period_us - timing.period_us
        found.append(Advice(change, timing.period_us, gain, timing.proven))
    return tuple(sorted(found, key=lambda advice: -advice.gain_us))


def _timing(machine: Machine, programme: Programme, effort: int) -> ProgrammeTiming:
    start = home(len(machine.actuators))
    plan = plan_programme(machine, programme.frames, start, repeat=programme.repeat)
    return time_programme(machine, plan, programme.every_us, effort)


def _variants(machine: Machine) -> Iterator[tuple[str, Machine]]:
    yield from _larger_supplies(machine)
    yield from _shorter_pulses(machine)
    yield from _steeper_paths(machine)
    swapped = variants.with_rows_and_columns_swapped(machine)
    if len(swapped.actuators) != len(machine.actuators) or any(
        one.cells != two.cells
        for one, two in zip(swapped.actuators, machine.actuators, strict=True)
    ):
        yield "rows and columns swapped in every linkage", swapped


def _larger_supplies(machine: Machine) -> Iterator[tuple[str, Machine]]:
    for supply in machine.supplies:
        for more in MORE_PERCENT:
            limit = supply.limit_ua * (100 + more) // 100

            def enlarged(one: Supply, limit: int = limit) -> Supply:
                return replace(one, limit_ua=limit)

            change = f"supply {supply.name} with {more} % more current ({limit / 1e6:g} A)"
            yield change, variants.with_supply(machine, supply.name, enlarged)


def _shorter_pulses(machine: Machine) -> Iterator[tuple[str, Machine]]:
    coils = {actuator.coil.name: actuator.coil for actuator in machine.actuators}
    for coil in coils.values():
        pulse = max(coil.pulse_us * PULSE_QUARTERS // 4, coil.travel_us)
        if pulse < coil.pulse_us:

            def shortened(one: Coil, pulse: int = pulse) -> Coil:
                return replace(one, pulse_us=pulse)

            change = f"coil {coil.name} with a pulse of {pulse / 1000:g} ms"
            yield change, variants.with_coil(machine, coil.name, shortened)


def _steeper_paths(machine: Machine) -> Iterator[tuple[str, Machine]]:
    """A path on which the item is pulled twice as hard takes 1 / sqrt(2) of its time."""
    ends = {(p.source, p.target): p for lane in machine.lanes for p in lane.paths}
    for (source, target), path in ends.items():
        fall = math.isqrt(path.fall_us**2 // 2)

        def steepened(one: Path, fall: int = fall) -> Path:
            return replace(one, fall_us=fall)

        change = f"path {source} -> {target} twice as steep ({fall / 1000:g} ms)"
        yield change, variants.with_path(machine, source, target, steepened)
