"""What a machine takes: actuators, relays, outputs, and its period and pulses by the planner."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from seqc.machine.electrics import Drive, DriveKind
from seqc.machine.findings import ShortfallError
from seqc.machine.glyphs import Frame, Glyph, Programme
from seqc.machine.model import Machine
from seqc.schedule.timing import time_programme
from seqc.solver.objective import Objective
from seqc.solver.positions import home
from seqc.solver.programme import plan_programme

MOST_FRAMES = 32
"""Of more glyphs than this some are planned, as far apart in the font as can be."""

A_SECOND_US = 1_000_000


@dataclass(frozen=True)
class Price:
    """What a machine has, and what showing glyphs in turn, round again, takes of it.

    `period_us` is the longest from one glyph to the next, `pulses` those of a round of `frames`
    glyphs; None where no schedule is possible, since the supply can't feed a coil.
    """

    actuators: int
    relays: int
    outputs: int
    frames: int
    period_us: int | None
    pulses: int | None


def price_of(machine: Machine, glyphs: Sequence[Glyph]) -> Price:
    """The price of a machine that shows these glyphs, planned for the fewest pulses."""
    step = -(-len(glyphs) // MOST_FRAMES)
    frames = tuple(Frame((glyph,)) for glyph in glyphs[::step])
    drives = tuple({id(a.drive): a.drive for a in machine.actuators}.values())
    outputs = len({output for actuator in machine.actuators for output in actuator.outputs})
    outputs += sum((d.reverser is not None) + (d.switch is not None) for d in drives)
    relays = sum(_relays(machine, drive) for drive in drives)
    period, pulses = _planned(machine, frames)
    return Price(len(machine.actuators), relays, outputs, len(frames), period, pulses)


def _relays(machine: Machine, drive: Drive) -> int:
    if drive.relay is None:
        return 0
    own = sum(len(a.outputs) for a in machine.actuators if a.drive is drive)
    return own + (drive.kind is DriveKind.SHARED_REVERSER)


def _planned(machine: Machine, frames: Sequence[Frame]) -> tuple[int | None, int | None]:
    programme = Programme("", tuple(frames), A_SECOND_US, repeat=True)
    start = home(len(machine.actuators))
    try:
        plan = plan_programme(
            machine, programme.frames, start, repeat=True, objective=Objective.PULSES
        )
        timing = time_programme(machine, plan, programme.every_us)
    except ShortfallError:
        return None, None
    return timing.period_us, sum(each.pulses for each in plan.round)
