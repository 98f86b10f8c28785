"""From a programme as it is planned and timed to the run that is forecast."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Protocol

from seqc.forecast.usage import FrameUse, Move, Run, frame_use
from seqc.machine.duty import DutyUse
from seqc.machine.electrics import MILLION
from seqc.machine.fuse import COOL_S
from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Position
from seqc.machine.wiring import Actuator
from seqc.schedule.pulses import Pulse, supply_profile
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


def peaks_of(timing: ProgrammeTiming) -> dict[str, int]:
    """The largest sum of coil currents at one instant of any tick, by the name of the supply.

    Taken over two ticks that follow each other, since a pulse may outlast its tick.
    """
    peaks: dict[str, int] = {}
    following = pairwise((*timing.ticks, *timing.ticks[:1]))
    for one, two in {(id(one), id(two)): (one, two) for one, two in following}.values():
        pulses = (*one.pulses, *(pulse.later(timing.beat_us) for pulse in two.pulses))
        for supply, profile in supply_profile(pulses).items():
            highest = max((current for _, current in profile), default=0)
            peaks[supply] = max(peaks.get(supply, 0), highest)
        for supply, highest in _relay_peaks(pulses).items():
            peaks[supply] = peaks.get(supply, 0) + highest
    return peaks


def bursts_of(timing: ProgrammeTiming) -> tuple[int, dict[str, float]]:
    """How long a burst is in which a fuse doesn't cool, and its I2t by the name of the supply.

    It is as many of the heaviest ticks as begin in that time.
    """
    ticks = -(-COOL_S * MILLION // timing.beat_us)
    heaviest: dict[str, float] = {}
    for tick in {id(tick): tick for tick in timing.ticks}.values():
        for supply, profile in supply_profile(tick.pulses).items():
            a2s = sum(
                (current / MILLION) ** 2 * (until - since) / MILLION
                for (since, current), (until, _) in pairwise(profile)
            )
            heaviest[supply] = max(heaviest.get(supply, 0.0), ticks * a2s)
    return ticks * timing.beat_us, heaviest


def _relay_peaks(pulses: Sequence[Pulse]) -> dict[str, int]:
    """The most that the coils of relays draw at one instant, by the name of their supply.

    A relay is on from its operate time before the pulse to its release time before its end, and a
    reverser with it, from as long again before that to after it.
    """
    changes: dict[str, list[tuple[int, int]]] = {}
    for pulse in pulses:
        drive = pulse.actuator.drive
        relay = drive.relay
        if relay is None or relay.coil_supply is None:
            continue
        lead, lag = relay.operate.most_us, relay.release.least_us
        spans = [(pulse.start_us - lead, pulse.end_us - (0 if drive.switch else lag))]
        if drive.reverser is not None and pulse.position is Position.REST:
            spans.append((pulse.start_us - 2 * lead, pulse.end_us + relay.release.most_us))
        own = changes.setdefault(relay.coil_supply.name, [])
        for start, end in spans:
            own += [(start, relay.coil_ua), (end, -relay.coil_ua)]
    return {name: _highest(own) for name, own in changes.items()}


def _highest(changes: Iterable[tuple[int, int]]) -> int:
    drawn = highest = 0
    for _, change in sorted(changes):
        drawn += change
        highest = max(highest, drawn)
    return highest
