"""The machine: everything that the language declares, resolved and frozen."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from seqc.machine.clearance import Clearance
from seqc.machine.controller import EXACT_CONTROLLER, Controller
from seqc.machine.electrics import Bus, Supply
from seqc.machine.findings import NOWHERE, Place
from seqc.machine.glyphs import Font, Programme
from seqc.machine.parts import Cell, Gate, Grid, Item, Lane, Part, Selector
from seqc.machine.winding import AMBIENT_C
from seqc.machine.wiring import Actuator


@dataclass(frozen=True)
class Machine:
    """A machine in which nothing is missing: every grid has a lane, every part its actuators.

    The air around it gets as warm as `hottest_c`.

    `assumed_ppm` is the tolerance that was taken for parts that don't tell theirs, None if all do.
    """

    name: str
    items: tuple[Item, ...]
    lanes: tuple[Lane, ...]
    selectors: tuple[Selector, ...]
    gates: tuple[Gate, ...]
    actuators: tuple[Actuator, ...]
    buses: tuple[Bus, ...]
    supplies: tuple[Supply, ...]
    fonts: tuple[Font, ...] = ()
    programmes: tuple[Programme, ...] = ()
    place: Place = NOWHERE
    clearance: Clearance | None = None
    controller: Controller = EXACT_CONTROLLER
    assumed_ppm: int | None = None
    hottest_c: float = AMBIENT_C

    def __hash__(self) -> int:
        """Cheap, since what is worked out for a machine is kept by it."""
        return hash(self.name)

    @property
    def grids(self) -> tuple[Grid, ...]:
        """The grids, in the order of their lanes."""
        return tuple(lane.grid for lane in self.lanes)

    @property
    def width(self) -> int:
        """The number of outputs of all buses."""
        return sum(bus.bits for bus in self.buses)

    @cached_property
    def idle_word(self) -> int:
        """The levels at which no output is active: ones where a bus is active low."""
        return sum(((1 << bus.bits) - 1) << bus.first for bus in self.buses if bus.active_low)

    def lane_of(self, grid: str) -> Lane:
        """The lane of a grid."""
        return next(lane for lane in self.lanes if lane.grid.name == grid)

    @cached_property
    def _moving(self) -> dict[tuple[str, str, Cell], Actuator]:
        return {
            (actuator.part.name, actuator.grid.name, cell): actuator
            for actuator in self.actuators
            for cell in actuator.cells
        }

    def actuator_of(self, part: Part, grid: Grid, cell: Cell) -> Actuator:
        """The actuator that moves a part in one cell of a grid."""
        return self._moving[part.name, grid.name, cell]

    def actuators_of(self, part: Part, grid: Grid) -> tuple[Actuator, ...]:
        """The actuators that move a part anywhere in a grid."""
        return tuple(
            actuator
            for actuator in self.actuators
            if actuator.part.name == part.name and actuator.grid.name == grid.name
        )

    def __str__(self) -> str:
        words = [f"machine {self.name}"]
        for lane in self.lanes:
            links = ["shown", *(gate.name for gate in reversed(lane.gates[: lane.gates_above]))]
            below = [gate.name for gate in reversed(lane.dumps)]
            words.append(f"  {lane.grid.name}: {' <- '.join([*below, *links])}")
        words += [
            f"  {a.name}: outputs {' '.join(map(str, a.outputs))}, {len(a.cells)} cells"
            for a in self.actuators
        ]
        return "\n".join(words)
