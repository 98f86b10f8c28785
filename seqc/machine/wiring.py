"""Which actuators a machine has, and which outputs switch them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from seqc.machine.electrics import Coil, Drive
from seqc.machine.parts import Cell, Gate, Grid, Lane, Part
from seqc.machine.span import Span


@dataclass(frozen=True)
class Actuator:
    """One latching solenoid: the part that it moves, in the cells of one grid.

    `index` is its place among the machine's actuators. `outputs` count from 0 over all buses: for a
    changeover pair or a bridge the forward one (which drives it to thrown), then the reverse one
    (to rest); under a shared reverser the one of its own relay; in a matrix the high switch of its
    row and the low one of its column (to thrown), then the low switch of its row and the high one
    of its column (to rest).
    """

    index: int
    name: str
    part: Part
    grid: Grid
    cells: tuple[Cell, ...]
    drive: Drive
    outputs: tuple[int, ...]

    @property
    def coil(self) -> Coil:
        """The coil that moves it."""
        return self.part.coil

    @cached_property
    def peak_ua(self) -> int:
        """The most that its coil draws, by which its supply is to be judged."""
        return self.drive.supply.peak_ua(self.coil)

    @property
    def is_gate(self) -> bool:
        """Whether it moves a gate."""
        return isinstance(self.part, Gate)

    @property
    def settled(self) -> Span:
        """From the start of a pulse until the part is settled."""
        return self.coil.travel + self.part.settle

    @property
    def settled_us(self) -> int:
        """The nominal time from the start of a pulse until the part is settled."""
        return self.coil.travel_us + self.part.settle_us

    @cached_property
    def cell_set(self) -> frozenset[Cell]:
        """Its cells, for quick membership."""
        return frozenset(self.cells)

    def __repr__(self) -> str:
        return f"<{self.name}>"


class Group(NamedTuple):
    """The cells of one grid that move with one actuator, before it is wired."""

    name: str
    part: Part
    grid: Grid
    cells: tuple[Cell, ...]


def groups_of(parts: Iterable[Part], lanes: Sequence[Lane]) -> dict[str, tuple[Group, ...]]:
    """The groups of each part by its name: parts as they are declared, then grids, then cells.

    A group is named after its part and label, `pick.r3`; a part that serves several grids has the
    grid's name in front, `hours.pick.r3`.
    """
    return {part.name: tuple(_groups_of_part(part, lanes)) for part in parts}


def _groups_of_part(part: Part, lanes: Sequence[Lane]) -> Iterable[Group]:
    own = [lane for lane in lanes if part in lane.selectors or part in lane.gates]
    for lane in own:
        for label, cells in part.linkage.groups(lane.cells_of(part)).items():
            words = (lane.grid.name if len(own) > 1 else "", part.name, label)
            yield Group(".".join(word for word in words if word), part, lane.grid, cells)


def wired(
    groups: Mapping[str, Sequence[Group]],
    drives: Mapping[str, Drive],
    outputs: Mapping[str, Sequence[int]],
) -> tuple[Actuator, ...]:
    """The actuators of all groups.

    `drives` and `outputs` go by part: the outputs of a part are those of its groups in order.
    """
    actuators: list[Actuator] = []
    for part, members in groups.items():
        drive = drives[part]
        count = drive.kind.outputs_per_actuator
        for rank, group in enumerate(members):
            own = tuple(outputs[part][count * rank : count * (rank + 1)])
            actuators.append(
                Actuator(
                    len(actuators), group.name, group.part, group.grid, group.cells, drive, own
                )
            )
    return tuple(actuators)
