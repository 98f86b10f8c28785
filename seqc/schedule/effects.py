"""How long a pulse bounds what comes after it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from seqc.machine.parts import Position
from seqc.schedule.builder import MINIMUM_OFF
from seqc.schedule.drives.choice import rules_of
from seqc.schedule.pulses import Pulse
from seqc.schedule.topology import Topology


def horizon_us(topology: Topology, pulse: Pulse) -> int:
    """The instant from which nothing of a pulse bounds any other."""
    return pulse.start_us + max(end for end, _ in bounding(topology, pulse))


def bounding(topology: Topology, pulse: Pulse) -> Iterator[tuple[int, str]]:
    """How long from its start on a pulse bounds others, by each cause."""
    actuator = pulse.actuator
    part, times = actuator.part, topology.times(actuator)
    yield times.next_us, f"{part.name} {MINIMUM_OFF}"
    yield times.settled_us, f"{part.name} at rest"
    channel = rules_of(actuator.drive).channel(actuator.drive)
    if channel:
        channel = channel.timed(topology.lasting)
        turn_us = times.clear_us + max(channel.turn_us)
        yield times.length_us + max(turn_us, channel.same_us or 0), channel.name
    if actuator.is_gate and pulse.position is Position.REST:
        yield times.refill_us, f"{part.name} refill"
    elif actuator.is_gate and topology.rank(actuator) < topology.lane_of(actuator).gates_above:
        path = topology.path_after(actuator)
        still_us = times.settled.most_us + path.total.most_us
        yield topology.lasting(still_us), f"transit {path.source} to {path.target}"


def quiet_us(topology: Topology, pulses: Iterable[Pulse]) -> int:
    """The instant from which no pulse bounds anything, 0 if there is none."""
    ends = [horizon_us(topology, pulse) for pulse in pulses]
    return max(ends) + topology.durations.drift_us if ends else 0


def still_bounding(topology: Topology, pulses: Iterable[Pulse], from_us: int) -> tuple[Pulse, ...]:
    """The pulses that bound something after an instant, with times counted from it."""
    return tuple(pulse.later(-from_us) for pulse in pulses if horizon_us(topology, pulse) > from_us)
