"""What may be broken in a machine: changes that can be switched on, one or many at once.

A `Spot` is a place in one lane: its grid, the number of a gate from the top, and a cell by its
index. Of a path it names the gate where the path begins.
"""

from __future__ import annotations

from typing import NamedTuple

from seqc.machine.parts import Position

Spot = tuple[str, int, int]


class Wiring(NamedTuple):
    """What is wrong between the controller and the coils.

    Bit sets of outputs: those active (`on`) or inactive (`off`) whatever the controller says, those
    whose contact is never closed (`parted`) or always (`welded`). `turned`: actuators by index
    whose coil has its wires swapped; `exchanged`: pairs whose coils hang on each other's lines.
    """

    on: int = 0
    off: int = 0
    parted: int = 0
    welded: int = 0
    turned: frozenset[int] = frozenset()
    exchanged: frozenset[tuple[int, int]] = frozenset()

    def line_of(self, index: int) -> int:
        """The actuator whose lines the coil of an actuator hangs on."""
        for one, other in self.exchanged:
            if index in (one, other):
                return other if index == one else one
        return index


class Works(NamedTuple):
    """What is wrong with parts and lanes.

    `stuck`: actuators by index and where they stay. `loose`: an actuator, a cell by its index in
    which it moves its part no more, and where that part stays. `blocked`: paths that let nothing
    through; `slow`: those on which items come late; `sticking`: those on which an item of a kind
    stays until the next one pushes it on. `doubled`: gates that let two through at
    once; `held`: gates at which an item stays. `mixed`: a grid, a cell by its index, and two kinds
    whose magazines are exchanged there.
    """

    stuck: frozenset[tuple[int, Position]] = frozenset()
    loose: frozenset[tuple[int, int, Position]] = frozenset()
    blocked: frozenset[Spot] = frozenset()
    slow: frozenset[Spot] = frozenset()
    sticking: frozenset[tuple[Spot, str]] = frozenset()
    doubled: frozenset[Spot] = frozenset()
    held: frozenset[Spot] = frozenset()
    mixed: frozenset[tuple[str, int, str, str]] = frozenset()


class Defects(NamedTuple):
    """All that is broken at one time."""

    wiring: Wiring = Wiring()
    works: Works = Works()

    def joined(self, other: Defects) -> Defects:
        """Both at once."""
        wiring = (
            mine | theirs  # type: ignore[operator]
            for mine, theirs in zip(self.wiring, other.wiring, strict=True)
        )
        works = (mine | theirs for mine, theirs in zip(self.works, other.works, strict=True))
        return Defects(Wiring(*wiring), Works(*works))  # type: ignore[arg-type]


SOUND = Defects()
"""Nothing is broken."""
