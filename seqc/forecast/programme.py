"""From a programme as it is planned and timed to the run that is forecast."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Protocol

from seqc.forecast.currents import bursts_of, peaks_of
from seqc.forecast.usage import FrameUse, Move, Run, frame_use
from seqc.machine.duty import DutyUse
from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Position
from seqc.machine.wiring import Actuator
from seqc.schedule.timing import ProgrammeTiming


class _Step(Protocol):
    """A pass: selectors to set, then metering gates to cycle."""

    @property
    def set(self) -> Sequence[Move]: ...
    @property
    def operate(self) -> Sequence[Actuator]: ...


class _Part(Protocol):
    """The plan of one grid."""

    @property
    def glyph(self) -> Glyph: ...
    @property
    def passes(self) -> Sequence[_Step]: ...
    @property
    def dumps(self) -> Sequence[Sequence[Actuator]]: ...
    @property
    def transfers(self) -> Sequence[Sequence[Actuator]]: ...


class _Plan(Protocol):
    """The plan of one frame."""

    @property
    def frame(self) -> Frame: ...
    @property
    def grids(self) -> Sequence[_Part]: ...


def run_of(machine: Machine, timing: ProgrammeTiming) -> Run:
    """The frames of a programme, its first reload at the end of the cycle."""
    plans: list[_Plan] = list(timing.plan.plans)
    repeat_from = None
    if timing.plan.again is not None:
        plans.append(timing.plan.again)
        repeat_from = 1
    return Run(tuple(_uses(machine, plans, timing)), timing.beat_us, repeat_from)


def _uses(machine: Machine, plans: Sequence[_Plan], timing: ProgrammeTiming) -> Iterator[FrameUse]:
    """The use of each frame; frames that show the same by the same pulses share one."""
    known: dict[object, FrameUse] = {}
    for number, plan in enumerate(plans):
        again = timing.repeat_from or 0
        tick = timing.ticks[number if number < len(timing.ticks) else again]
        moving = [part for part in plan.grids if part.passes or part.dumps or part.transfers]
        moves = [move for part in moving for move in _moves(part)]
        done = tuple((actuator.index, position) for actuator, position in moves)
        key = (id(tick), done, tuple(id(part.glyph) for part in moving))
        if key not in known:
            frame = Frame(tuple(part.glyph for part in moving))
            known[key] = frame_use(machine, frame, moves, tick.pulses)
        yield known[key]


def _moves(part: _Part) -> Iterator[Move]:
    for step in part.passes:
        yield from step.set
        yield from _cycles(step.operate)
    for stage in (*part.dumps, *part.transfers):
        yield from _cycles(stage)


def _cycles(gates: Sequence[Actuator]) -> Iterator[Move]:
    for gate in gates:
        yield gate, Position.THROWN
        yield gate, Position.REST


def duty_of(machine: Machine, timing: ProgrammeTiming) -> DutyUse:
    """What a programme does to the coils while it repeats, or in all if it doesn't."""
    ticks = timing.ticks[timing.repeat_from or 0 :]
    known = {id(tick): tick for tick in ticks}
    counts: Counter[int] = Counter()
    for which, times in Counter(map(id, ticks)).items():
        for pulse in known[which].pulses:
            counts[pulse.actuator.index] += times
    pulses = tuple(counts[actuator.index] for actuator in machine.actuators)
    duration = timing.beat_us * len(ticks)
    burst_us, burst_a2s = bursts_of(timing)
    peaks = peaks_of(timing)
    on_us = on_times_us(machine, timing)
    return DutyUse(duration, pulses, peaks, machine.hottest_c, burst_a2s, burst_us, on_us)


def on_times_us(machine: Machine, timing: ProgrammeTiming) -> tuple[int, ...]:
    """How long a pulse of each actuator lasts in the mean of a programme, with nominal parts."""
    held: dict[int, list[int]] = {}
    for tick in {id(tick): tick for tick in timing.ticks}.values():
        for pulse in tick.pulses:
            held.setdefault(pulse.actuator.index, []).append(pulse.hold_us)
    found = []
    for actuator in machine.actuators:
        drive, own = actuator.drive, held.get(actuator.index)
        over_us = drive.stops.nominal_us - drive.starts.nominal_us
        found.append(round(sum(own) / len(own)) + over_us if own else actuator.coil.pulse_us)
    return tuple(found)
