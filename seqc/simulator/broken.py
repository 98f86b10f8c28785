"""One table going through the parts and lanes of a grid in which some are broken.

What happens to items there, besides what happens in a sound machine: those that find the gate of
their place open go on at once. On a slow path they miss the gate that was to let them on, and come
when it has shut again.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace

from seqc.machine.parts import Position
from seqc.simulator.coils import Feel
from seqc.simulator.defects import Spot, Works
from seqc.simulator.grid_state import Flight, GridState
from seqc.simulator.lanes import Lanes
from seqc.simulator.motion import GridRun

SLOWER = 4
"""A slow lane takes so many times as long, where no gate stands at its end."""


class Broken:
    """What is broken in one grid: actuators by their number, and spots in lanes as (gate, cell)."""

    def __init__(self, lanes: Lanes, works: Works) -> None:
        name, number_of = lanes.grid.name, lanes.number_of

        def here(spots: Iterable[Spot]) -> frozenset[tuple[int, int]]:
            return frozenset((level, cell) for grid, level, cell in spots if grid == name)

        self.stuck = {number_of[i]: at for i, at in works.stuck if i in number_of}
        self.loose = {(number_of[i], cell): at for i, cell, at in works.loose if i in number_of}
        self.loose_cells = {cell for _, cell in self.loose}
        self.blocked, self.slow = here(works.blocked), here(works.slow)
        self.doubled, self.held = here(works.doubled), here(works.held)
        self.sticking = {
            (level, cell, kind) for (grid, level, cell), kind in works.sticking if grid == name
        }
        self.mixed = {
            (cell, kind): for_it
            for grid, cell, one, other in works.mixed
            if grid == name
            for kind, for_it in ((one, other), (other, one))
        }


@dataclass
class BrokenRun(GridRun):
    """A run with something broken."""

    broken: Broken = field(kw_only=True)

    def __post_init__(self) -> None:
        super().__post_init__()
        self.clinging = {(level, cell): kind for level, cell, kind in self.state.clinging}
        self.late = {(level, cell): [*kinds] for level, cell, kinds in self.state.late}
        for number, position in self.broken.stuck.items():
            self.positions[number] = position

    def run(self, feels: Iterable[Feel], length_us: int) -> GridState:
        """As in a sound machine, once what lies above an open gate has gone on."""
        for place in range(1, self.lanes.last + 1):
            for cell, kind in enumerate(self.places[place]):
                if kind is not None and self._is_open(0, place, cell):
                    self._set_out(0, place, [(cell, kind) for kind in self._going(0, place, cell)])
        return super().run(feels, length_us)

    def _pulse(self, now: int, number: int, feel: int) -> None:
        if number not in self.broken.stuck:
            super()._pulse(now, number, feel)

    def _offered(self, cell: int) -> str:
        positions = self.positions
        if cell in self.broken.loose_cells:
            positions = [self._position(n, cell) for n in range(len(self.positions))]
        kind = self.lanes.offered(cell, positions)
        return self.broken.mixed.get((cell, kind), kind)

    def _position(self, number: int, cell: int) -> Position | None:
        """Where an actuator's part is in one cell."""
        return self.broken.loose.get((number, cell), self.positions[number])

    def _is_open(self, now: int, place: int, cell: int) -> bool:
        """Whether the gate below a place stands open."""
        if self.lanes.pushes_out(place):
            return False
        number = self.lanes.gate_at[place][cell]
        is_loose = (number, cell) in self.broken.loose
        settled = is_loose or self.settled[number] <= now
        return settled and self._position(number, cell) is Position.THROWN

    def _stays(self, level: int, cell: int) -> bool:
        is_loose = (self.lanes.gate_at[level][cell], cell) in self.broken.loose
        return is_loose or (level, cell) in self.broken.held or super()._stays(level, cell)

    def _going(self, now: int, level: int, cell: int) -> Iterator[str]:
        yield from super()._going(now, level, cell)
        if (level, cell) in self.broken.doubled:
            yield from super()._going(now, level, cell)

    def _set_out(self, now: int, level: int, leaving: list[tuple[int, str]]) -> None:
        if level >= self.lanes.last:
            return
        going = [each for each in leaving if (level, each[0]) not in self.broken.blocked]
        going = [(cell, kind) for cell, kind in going for kind in self._freed(level, cell, kind)]
        slow = self.broken.slow
        super()._set_out(now, level, [each for each in going if (level, each[0]) not in slow])
        for cell, kind in going:
            if (level, cell) in slow:
                self._delay(now, level, cell, kind)

    def _delay(self, now: int, level: int, cell: int, kind: str) -> None:
        """Let an item come late: when the gate at its end has shut again, if there is one."""
        place = level + 1
        if self.lanes.pushes_out(place) or place == self.lanes.shown:
            due = now + SLOWER * self.lanes.fall(level, cell).draw()
            self._fly((due, place, (cell,), (kind,)))
        else:
            self.late.setdefault((level, cell), []).append(kind)

    def _settle(self, now: int, number: int) -> None:
        super()._settle(now, number)
        tie = self.lanes.ties[number]
        if not tie.level or self.positions[number] is not Position.REST:
            return
        for cell in tie.cells:
            for kind in self.late.pop((tie.level - 1, cell), ()):
                self._fly((now, tie.level, (cell,), (kind,)))

    def _freed(self, level: int, cell: int, kind: str) -> Iterator[str]:
        """What goes on when an item comes by: one that clung there, and it unless it clings."""
        clung = self.clinging.pop((level, cell), None)
        if clung is not None:
            yield clung
        if (level, cell, kind) in self.broken.sticking:
            self.clinging[level, cell] = kind
        else:
            yield kind

    def _land(self, flight: Flight, cell: int, kind: str) -> None:
        now, place = flight[0], flight[1]
        if self._is_open(now, place, cell):
            self._set_out(now, place, [(cell, kind)])
        else:
            super()._land(flight, cell, kind)

    def _lasting(self, length: int) -> GridState:
        clinging = sorted((level, cell, kind) for (level, cell), kind in self.clinging.items())
        late = sorted((level, cell, tuple(kinds)) for (level, cell), kinds in self.late.items())
        return replace(
            super()._lasting(length),
            clinging=tuple(clinging),
            late=tuple(late),
        )
