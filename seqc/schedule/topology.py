"""Which actuators of a machine act on the same lanes, and where items wait between them."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from seqc.machine.findings import ShortfallError
from seqc.machine.model import Machine
from seqc.machine.parts import Cell, Lane, Path
from seqc.machine.tolerances import varies, with_round_starts
from seqc.machine.wiring import Actuator
from seqc.schedule.capacities import capacities_ua
from seqc.schedule.durations import Durations, Times
from seqc.schedule.shortfalls import refuse_shortfalls

GRID_US = 2_000
"""Tables whose parts vary have their edges so far apart, or at one instant.

Whole milliseconds of a data sheet do that by themselves; with tolerances edges would come so soon
after each other that a small controller is late with them: with 64 outputs it takes some 1.7 ms for
each (measured on an emulated ATmega328P).
"""


@dataclass(frozen=True)
class Topology:
    """The lanes of a machine, by actuator; distances in its tables are multiples of `grid_us`.

    Raises ShortfallError if some of its pulses can't be given at all.
    """

    machine: Machine
    grid_us: int = 1
    _below: dict[int, tuple[Actuator, ...]] = field(default_factory=dict, init=False)

    def __post_init__(self) -> None:
        refuse_shortfalls(self.durations)

    @cached_property
    def durations(self) -> Durations:
        """What the pulses of its actuators take for sure."""
        return Durations(self.machine, self.grid_us)

    @cached_property
    def capacities_ua(self) -> list[int]:
        """What all coils on each supply may draw at one time."""
        return [*capacities_ua(self.durations).values()]

    def times(self, actuator: Actuator) -> Times:
        """What the pulses of an actuator take for sure."""
        return self.durations.of(actuator)

    def lasting(self, real_us: int) -> int:
        """The distance in a table that lasts so long or longer on any clock."""
        return self.durations.clock.lasting(real_us)

    @cached_property
    def _lanes(self) -> dict[str, Lane]:
        return {lane.grid.name: lane for lane in self.machine.lanes}

    @cached_property
    def _by_part(self) -> dict[tuple[str, str], tuple[Actuator, ...]]:
        found: dict[tuple[str, str], list[Actuator]] = {}
        for actuator in self.machine.actuators:
            found.setdefault((actuator.part.name, actuator.grid.name), []).append(actuator)
        return {key: tuple(group) for key, group in found.items()}

    def lane_of(self, actuator: Actuator) -> Lane:
        """The lane of the actuator's grid."""
        return self._lanes[actuator.grid.name]

    def lane_of_grid(self, grid: str) -> Lane:
        """The lane of a grid by name."""
        return self._lanes[grid]

    @cached_property
    def selectors_above(self) -> dict[int, tuple[int, ...]]:
        """For each metering actuator, the selector actuators of any cell of it."""
        found: dict[int, tuple[int, ...]] = {}
        for lane in self.machine.lanes:
            above = [self._moving(lane, selector.name) for selector in lane.selectors]
            for actuator in self._by_part[lane.metering.name, lane.grid.name]:
                moved = {
                    by_cell[cell] for by_cell in above for cell in actuator.cells if cell in by_cell
                }
                found[actuator.index] = tuple(sorted(moved))
        return found

    def _moving(self, lane: Lane, part: str) -> dict[Cell, int]:
        group = self._by_part.get((part, lane.grid.name), ())
        return {cell: actuator.index for actuator in group for cell in actuator.cells}

    def rank(self, gate: Actuator) -> int:
        """The place of an actuator's gate in its lane, from 0 at the top."""
        names = [one.name for one in self.lane_of(gate).gates]
        return names.index(gate.part.name)

    def path_after(self, gate: Actuator) -> Path:
        """The path of an item that leaves a gate above the place that is seen."""
        return self.lane_of(gate).paths[self.rank(gate)]

    def least_fall_us(self, gate: Actuator) -> int:
        """From a gate settled thrown to the first of its items; below `shown` at once."""
        below = self.rank(gate) >= self.lane_of(gate).gates_above
        return 0 if below else self.path_after(gate).fall.least_us

    def feeds_shown(self, gate: Actuator) -> bool:
        """Whether items go from this gate to the place that is seen."""
        return self.rank(gate) == self.lane_of(gate).gates_above - 1

    def holding_below(self, gate: Actuator) -> tuple[Actuator, ...]:
        """The actuators that hold what leaves this gate: the next gate's, or those of all dumps."""
        if gate.index not in self._below:
            lane, rank = self.lane_of(gate), self.rank(gate)
            last = rank == lane.gates_above - 1
            gates = lane.dumps if last else lane.gates[rank + 1 : rank + 2]
            self._below[gate.index] = tuple(
                other
                for held in gates
                for other in self._by_part[held.name, gate.grid.name]
                if not other.cell_set.isdisjoint(gate.cell_set)
            )
        return self._below[gate.index]

    def actuators_of_gate(self, lane: Lane, rank: int) -> tuple[Actuator, ...]:
        """The actuators of one gate of a lane, by its place from the top."""
        return self._by_part[lane.gates[rank].name, lane.grid.name]


def playable(machine: Machine) -> Topology:
    """The lanes of a machine, with distances that a small controller plays well.

    Where a coil doesn't bear that its pulses are a little longer for it, they are as ever.
    """
    if not varies(machine):
        return Topology(machine)
    try:
        return on_grid(machine, GRID_US)
    except ShortfallError:
        return Topology(machine)


def on_grid(machine: Machine, grid_us: int) -> Topology:
    """The lanes of a machine, its distances and what outputs lead by multiples of a grid.

    Raises ShortfallError where a coil doesn't bear that its pulses are a little longer for it.
    """
    rests = {actuator.drive.starts.least_us % grid_us for actuator in machine.actuators}
    rounded = with_round_starts(machine, grid_us) if len(rests) > 1 else machine
    return Topology(rounded, grid_us)
