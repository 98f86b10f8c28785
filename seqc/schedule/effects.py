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
    rules, drive, coil = rules_of(actuator.drive), actuator.drive, actuator.coil
    ends = [pulse.end_us + rules.pause_us(drive, coil), pulse.settled_us]
    channel = rules.channel(drive)
    if channel:
        turn = rules.clear_us(drive, coil) + max(channel.turn_us)
        ends.append(pulse.end_us + max(turn, channel.same_us or 0))
    if isinstance(actuator.part, Gate):
        ends.append(_after_gate(topology, pulse, actuator.part))
    return max(ends)


def _after_gate(topology: Topology, pulse: Pulse, gate: Gate) -> int:
    """A gate at rest refills; from a gate thrown above the place that is seen an item falls."""
    if pulse.position is Position.REST:
        return pulse.settled_us + gate.refill_us
    lane = topology.lane_of(pulse.actuator)
    if topology.rank(pulse.actuator) >= lane.gates_above:
        return pulse.settled_us
    return pulse.settled_us + topology.path_after(pulse.actuator).total_us


def quiet_us(topology: Topology, pulses: Iterable[Pulse]) -> int:
    """The instant from which no pulse bounds anything, 0 if there is none."""
    return max((horizon_us(topology, pulse) for pulse in pulses), default=0)


def still_bounding(topology: Topology, pulses: Iterable[Pulse], from_us: int) -> tuple[Pulse, ...]:
    """The pulses that bound something after an instant, with times counted from it."""
    return tuple(pulse.later(-from_us) for pulse in pulses if horizon_us(topology, pulse) > from_us)
