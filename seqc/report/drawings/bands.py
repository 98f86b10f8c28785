"""How much sooner and later than drawn things may happen: the tolerance bands of a chart."""

from __future__ import annotations

from typing import NamedTuple

from seqc.machine.model import Machine
from seqc.machine.parts import Lane
from seqc.machine.span import Span
from seqc.machine.wiring import Actuator


class Band(NamedTuple):
    """So much sooner, so much later, in microseconds."""

    early_us: int
    late_us: int

    def wider(self, by: Span) -> Band:
        """The band after something that takes a time with a tolerance."""
        early = by.nominal_us - by.least_us
        return Band(self.early_us + early, self.late_us + by.most_us - by.nominal_us)


def start_band(actuator: Actuator) -> Band:
    """The start of its current: that of the contact, or the pulse switch, that closes."""
    drive = actuator.drive
    closing = drive.lead if drive.switch is None else drive.turn_on
    return Band(0, 0).wider(closing)


def settled_band(actuator: Actuator) -> Band:
    """The end of its motion."""
    return start_band(actuator).wider(actuator.settled)


def arrival_band(machine: Machine, lane: Lane, place: int) -> Band:
    """The arrival of items at a place that the gate above it lets go."""
    gate = machine.actuators_of(lane.gates[place - 1], lane.grid)[0]
    band = settled_band(gate)
    return band.wider(lane.paths[place - 1].fall) if place <= len(lane.paths) else band
