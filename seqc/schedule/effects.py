"""How long a pulse bounds what comes after it."""

from __future__ import annotations

from collections.abc import Iterable

from seqc.machine.parts import Gate, Position
from seqc.schedule.drives.choice import rules_of
from seqc.schedule.pulses import Pulse
from seqc.schedule.topology import Topology


def horizon_us(topology: Topology, pulse: Pulse) -> int:
    """The instant from which nothing of a pulse bounds any other."""
    actuator = pulse.actuator
    times = topology.times(actuator)
    ends = [pulse.start_us + times.next_us, pulse.start_us + times.settled_us]
    channel = rules_of(actuator.drive).channel(actuator.drive)
    if channel:
        channel = channel.timed(topology.lasting)
        turn = times.clear_us + max(channel.turn_us)
        ends.append(pulse.end_us + max(turn, channel.same_us or 0))
    if isinstance(actuator.part, Gate):
        ends.append(_after_gate(topology, pulse))
    return max(ends)


def _after_gate(topology: Topology, pulse: Pulse) -> int:
    """A gate at rest refills; from a gate thrown above the place that is seen an item falls."""
    times = topology.times(pulse.actuator)
    if pulse.position is Position.REST:
        return pulse.start_us + times.refill_us
    lane = topology.lane_of(pulse.actuator)
    if topology.rank(pulse.actuator) >= lane.gates_above:
        return pulse.start_us + times.settled_us
    still_us = times.settled.most_us + topology.path_after(pulse.actuator).total.most_us
    return pulse.start_us + topology.lasting(still_us)


def quiet_us(topology: Topology, pulses: Iterable[Pulse]) -> int:
    """The instant from which no pulse bounds anything, 0 if there is none."""
    ends = [horizon_us(topology, pulse) for pulse in pulses]
    return max(ends) + topology.durations.drift_us if ends else 0


def still_bounding(topology: Topology, pulses: Iterable[Pulse], from_us: int) -> tuple[Pulse, ...]:
    """The pulses that bound something after an instant, with times counted from it."""
    return tuple(pulse.later(-from_us) for pulse in pulses if horizon_us(topology, pulse) > from_us)
