"""What comes before anything else: every part to rest, and what was left waiting let go."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from seqc.machine.model import Machine
from seqc.machine.parts import Lane, Position
from seqc.machine.wiring import Actuator
from seqc.schedule.builder import Builder
from seqc.schedule.drives.choice import rules_of
from seqc.schedule.effects import quiet_us
from seqc.schedule.frame import Stretch
from seqc.schedule.shortest import fill_in, pulses_of
from seqc.schedule.topology import Topology, playable


def home_pulses(machine: Machine, grid: str | None = None) -> Stretch:
    """Gates to rest, the lowest first so that whatever falls meanwhile is caught; then selectors.

    It is for all grids, or for one by itself. Nothing is known before, not even whether a coil has
    just been switched off by a reset; so the first pulse waits until any contact has opened and any
    coil recovered.
    """
    builder = Builder(playable(machine))
    waited = builder.event("reset is over")
    for lane in _lanes(machine, grid):
        below = waited
        for rank in range(len(lane.gates) - 1, -1, -1):
            below = _rest(builder, below, builder.topology.actuators_of_gate(lane, rank))
        selectors = [machine.actuators_of(selector, lane.grid) for selector in lane.selectors]
        _rest(builder, below, [actuator for group in selectors for actuator in group])
    return _stretch(builder, {waited: wait_us(builder.topology)})


def wait_us(topology: Topology) -> int:
    """How long a coil that was just switched off bounds what comes next."""
    return max((_wait_us(topology, actuator) for actuator in topology.machine.actuators), default=0)


def _wait_us(topology: Topology, actuator: Actuator) -> int:
    drive = actuator.drive
    opens_us = max(drive.lag.most_us, drive.stops.most_us)
    return topology.lasting(rules_of(drive).pause_us(drive, actuator.coil) + opens_us)


def clear_pulses(machine: Machine, grid: str | None = None) -> Stretch:
    """Lets go of the items that an interrupted load left above transfer and dump gates.

    From the lowest gate upwards, each gate under the metering one is cycled and after it all gates
    below, so that what it held leaves the machine or is seen. Nothing where there is no transfer
    gate.
    """
    builder = Builder(playable(machine))
    for lane in _lanes(machine, grid):
        for first in range(len(lane.gates) - 1, 0, -1) if lane.transfers else ():
            _let_through(builder, lane, first)
    return _stretch(builder, {})


def _lanes(machine: Machine, grid: str | None) -> Sequence[Lane]:
    """The lane of a grid, or all."""
    return machine.lanes if grid is None else (machine.lane_of(grid),)


def _let_through(builder: Builder, lane: Lane, first: int) -> None:
    """Cycle the gates of a lane from one of them down, each when the one above is done."""
    above: list[tuple[int, Actuator]] = []
    for rank in range(first, len(lane.gates)):
        gates = builder.topology.actuators_of_gate(lane, rank)
        above = builder.pass_on(gates, above)


def _rest(builder: Builder, after: int, actuators: Sequence[Actuator]) -> int:
    """Drive actuators to rest after an event; the event of all being settled."""
    tasks = [builder.pulse(actuator, Position.REST) for actuator in actuators]
    settled = builder.event("settled at rest")
    for task in tasks:
        builder.arc(after, task, 0, "order of home")
        builder.settle_before(task, settled, "settling")
    return settled


def _stretch(builder: Builder, given: Mapping[int, int]) -> Stretch:
    starts = fill_in(builder.problem(), given)
    pulses = pulses_of(builder, dict(enumerate(starts)))
    end_us = max([quiet_us(builder.topology, pulses), *starts])
    return Stretch(pulses, end_us, end_us, end_us)
