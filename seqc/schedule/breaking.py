"""What breaks first in a widened tick where parts vary by more than it was widened for.

Every distance of the tick is held against what it must be: a wait's is between two pulses, a
pulse's is its own length, a contact's is from the edge of its pulse switch. Distances were rounded
up, and some are longer than any factor asks for, so those that kept the tick from a larger factor
need not be the first to break.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from fractions import Fraction
from typing import NamedTuple

from seqc.machine.electrics import Drive
from seqc.schedule.drives.choice import rules_of
from seqc.schedule.drives.rules import GUARD_US
from seqc.schedule.pulses import Pulse
from seqc.schedule.scaling import ONE
from seqc.schedule.topology import Topology
from seqc.schedule.widening import Wait, Widening


class Breaking(NamedTuple):
    """The factor, in thousandths, beyond which a distance is too short, and what it is."""

    factor: Fraction
    cause: str


class _Distance(NamedTuple):
    """A distance as it is, and as it must be at one factor."""

    is_us: int
    must_us: int
    cause: str


def breaking_points(
    exact: Widening, pulses: Mapping[int, Pulse], beat_us: int, factor: int
) -> Iterator[Breaking]:
    """Where each distance of a tick breaks that depends on what parts take.

    `exact` has the waits of the tick without rounding, `pulses` are the widened ones by task, after
    which the next tick starts `beat_us` after this one. It was widened for a `factor` of one or
    more. What must be is linear in the factor, so two factors tell all.
    """
    highs, lows = (list(_distances(exact, pulses, beat_us, at)) for at in (factor, factor - ONE))
    for high, low in zip(highs, lows, strict=True):
        grows_us = high.must_us - low.must_us
        if grows_us > 0:
            yield Breaking(
                factor + Fraction((high.is_us - high.must_us) * ONE, grows_us), high.cause
            )


def _distances(
    exact: Widening, pulses: Mapping[int, Pulse], beat_us: int, factor: int
) -> Iterator[_Distance]:
    topology = exact.scaling.at(factor)
    on_us = {task: pulse.on_us for task, pulse in pulses.items()}
    if exact.load is not None:
        on_us[exact.end] = beat_us
    for wait in _direct(exact.waits(factor), on_us):
        is_us, must_us = on_us[wait.after] - on_us[wait.before], wait.lag_us
        if wait.holds:
            # The waits at a factor count with pulses as long as it asks for.
            pulse = pulses[wait.before]
            is_us, must_us = is_us - pulse.hold_us, must_us - topology.times(pulse.actuator).hold_us
        yield _Distance(is_us, must_us, wait.cause)
    for pulse in pulses.values():
        cause = f"pulse of coil {pulse.actuator.coil.name}"
        yield _Distance(pulse.hold_us, topology.times(pulse.actuator).hold_us, cause)
        yield from _of_contacts(pulse, topology)


def _direct(waits: Iterable[Wait], known: Mapping[int, int]) -> Iterator[Wait]:
    """The waits between tasks that are known, through events that only others wait for."""
    into: list[Wait] = []
    out_of: dict[int, list[Wait]] = {}
    for wait in waits:
        if wait.before in known and wait.after in known:
            yield wait
        elif wait.before in known:
            into.append(wait)
        elif wait.after in known:
            out_of.setdefault(wait.before, []).append(wait)
    for first in into:
        for then in out_of.get(first.after, ()):
            yield first._replace(after=then.after, lag_us=first.lag_us + then.lag_us)


def _of_contacts(pulse: Pulse, topology: Topology) -> Iterator[_Distance]:
    """How long contacts move before their pulse switch closes, and after it opens."""
    drive, asked = pulse.around.drive, topology.machine.actuators[pulse.actuator.index].drive
    channel = rules_of(drive).channel(drive)
    if drive.switch is None or channel is None:
        return
    behind_us, ahead_us = (
        pulse.clock.lasting(each) for each in (drive.turn_off.most_us, _ahead_us(drive) + GUARD_US)
    )
    yield _Distance(behind_us, asked.turn_off.most_us, channel.name)
    yield _Distance(ahead_us, _ahead_us(asked), channel.name)


def _ahead_us(drive: Drive) -> int:
    return drive.lead.most_us + drive.bounce.most_us - drive.turn_on.least_us
