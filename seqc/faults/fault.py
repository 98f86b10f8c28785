"""A fault: one change that makes a machine one that doesn't work, and where it may be seen."""

from __future__ import annotations

from enum import StrEnum
from typing import NamedTuple

from seqc.machine.parts import Position
from seqc.simulator.defects import Defects

Spot = tuple[str, int]
"""A grid and a cell of it by its index."""


class FaultKind(StrEnum):
    """A stable word for each kind of fault."""

    STUCK = "stuck"
    WIRES_SWAPPED = "wires-swapped"
    COILS_EXCHANGED = "coils-exchanged"
    OUTPUT_ON = "output-on"
    OUTPUT_OFF = "output-off"
    CONTACT_OPEN = "contact-open"
    CONTACT_WELDED = "contact-welded"
    LINKAGE_BROKEN = "linkage-broken"
    LANE_BLOCKED = "lane-blocked"
    LANE_SLOW = "lane-slow"
    TWO_AT_ONCE = "two-at-once"
    HELD_ONCE = "held-once"
    MAGAZINES_EXCHANGED = "magazines-exchanged"
    STICKS_AT_MAGNET = "sticks-at-magnet"


class Fault(NamedTuple):
    """One thing that is wrong.

    `defects` is the change that the simulator runs; only cells of the `footprint` may look other
    than they should. `actuators` are indices, `output` counts over all buses. `gate` is the gate at
    which a lane is at fault, or after which its path is. `position` is where a part stays, `kinds`
    are the items concerned. `table` is the number, from 0, of the table in which an item was held.
    """

    kind: FaultKind
    defects: Defects
    footprint: frozenset[Spot]
    actuators: tuple[int, ...] = ()
    output: int | None = None
    gate: str = ""
    position: Position | None = None
    kinds: tuple[str, ...] = ()
    table: int | None = None

    @property
    def spot(self) -> Spot | None:
        """The cell of a fault that is one lane's, None for one of several."""
        return next(iter(self.footprint)) if len(self.footprint) == 1 else None

    @property
    def is_passing(self) -> bool:
        """Whether it comes once and is over, so that no frame can look for it."""
        return self.kind is FaultKind.HELD_ONCE
