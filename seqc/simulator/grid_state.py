"""What lasts of one grid from one table to the next: positions, and items on their way."""

from __future__ import annotations

from dataclasses import dataclass

from seqc.machine.parts import Position
from seqc.simulator.lanes import Lanes

Flight = tuple[int, int, tuple[int, ...], tuple[str, ...]]
"""Items on their way: when they arrive, at which place, in which cells, of which kinds."""


@dataclass(frozen=True, slots=True)
class GridState:
    """Positions and items of one grid, with times in microseconds from now.

    What is past is 0, or, where pieces have bounds, as long past as it may still matter.

    `settled` and `ready` go by actuator: when its part is settled, and when it may move on (back,
    if it is a gate thrown; again, if it is one at rest). `spent`: actuators under a pulse that
    moves nothing. `places`: for each place the kind in each cell. `unsteady`: (place, cell, when
    its item lies still). Only where something is wrong are there items `queued` above a full place,
    or `clinging` or `late` on the path after a gate.
    """

    positions: tuple[Position | None, ...]
    settled: tuple[int, ...]
    ready: tuple[int, ...]
    places: tuple[tuple[str | None, ...], ...]
    spent: tuple[int, ...] = ()
    unsteady: tuple[tuple[int, int, int], ...] = ()
    flights: tuple[Flight, ...] = ()
    queued: tuple[tuple[int, int, tuple[str, ...]], ...] = ()
    clinging: tuple[tuple[int, int, str], ...] = ()
    late: tuple[tuple[int, int, tuple[str, ...]], ...] = ()

    @property
    def is_jammed(self) -> bool:
        """Whether items are on their way that only come where something is broken."""
        return bool(self.clinging or self.late)

    @property
    def pending_us(self) -> int:
        """When the last of what moves by itself comes to rest, or came to it."""
        dues = [*self.settled, *self.ready]
        dues += [flight[0] for flight in self.flights]
        dues += [due for _, _, due in self.unsteady]
        return max(dues, default=0)


def at_power_on(lanes: Lanes) -> GridState:
    """No position is known, and nothing lies anywhere below the magazines."""
    count = len(lanes.actuators)
    empty = (None,) * len(lanes.grid.cells)
    return GridState(
        (None,) * count, (0,) * count, (0,) * count, tuple(empty for _ in range(lanes.last + 1))
    )
