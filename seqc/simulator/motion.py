"""From pulses to positions, and from positions to the items that move through one grid.

Everything is counted from the start of the table that runs; a `GridState` carries what lasts from
one table to the next, and equal states with equal pulses have equal outcomes.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from seqc.machine.parts import Gate, Position
from seqc.simulator.coils import END, FAILED, START_THROWN, Feel
from seqc.simulator.faults import Event, Fault, FaultKind, milliseconds
from seqc.simulator.grid_rules import GridRules
from seqc.simulator.grid_state import Flight, GridState
from seqc.simulator.lanes import Lanes, Tie
from seqc.simulator.mishaps import Mishaps

ARRIVE, SETTLE, PULSE = range(3)
"""What falls due, in the order in which it is taken at one instant: an item that has just arrived
may go on at once, and a gate that has just settled may turn back at once."""


@dataclass
class GridRun(GridRules):
    """One table going through the parts and lanes of one grid.

    `left` counts what the magazines still hold by kind; a kind that it lacks never runs out. Faults
    are noted where it `judges`.
    """

    lanes: Lanes
    state: GridState
    tolerance_us: int
    left: dict[str, int]
    logs: bool = False
    mishaps: Mishaps | None = None
    judges: bool = True
    faults: list[Fault] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    taken: dict[str, int] = field(default_factory=dict)
    unsure: list[Fault] = field(default_factory=list)

    def __post_init__(self) -> None:
        state = self.state
        self.positions = list(state.positions)
        self.settled, self.ready = list(state.settled), list(state.ready)
        self.places = [list(row) for row in state.places]
        self.spent = set(state.spent)
        self.queued: dict[tuple[int, int], tuple[str, ...]] = {
            (place, cell): kinds for place, cell, kinds in state.queued
        }
        self.still = {(place, cell): due for place, cell, due in state.unsteady}
        self.heap: list[tuple[int, int, int]] = []
        self.flights: list[Flight] = []
        self.changes: list[tuple[int, int]] = []
        for number, due in enumerate(state.settled):
            if due > 0:
                heapq.heappush(self.heap, (due, SETTLE, number))
        for flight in state.flights:
            self._fly(flight)

    def run(self, feels: Iterable[Feel], length_us: int) -> GridState:
        """Let the parts feel their coils, go on until the end of the table, give what lasts."""
        for at_us, index, feel in feels:
            self._until(at_us)
            self._pulse(at_us, self.lanes.number_of[index], feel)
        self._until(length_us)
        return self._lasting(length_us)

    def _until(self, at_us: int) -> None:
        while self.heap and self.heap[0][0] <= at_us:
            now, what, subject = heapq.heappop(self.heap)
            if what == ARRIVE:
                self._arrive(self.flights[subject])
            else:
                self._settle(now, subject)

    def _pulse(self, now: int, number: int, feel: int) -> None:
        if feel in (END, FAILED):
            if feel == FAILED and number not in self.spent:
                self.positions[number] = None
                self._log_position(now, number, "lost")
            self.spent.discard(number)
            return
        target = Position.THROWN if feel == START_THROWN else Position.REST
        if self.positions[number] is target:
            self.spent.add(number)
        else:
            self._move(now, number, target)

    def _move(self, now: int, number: int, target: Position) -> None:
        tie = self.lanes.ties[number]
        if self.judges:
            self._look_at_move(now, number, tie, target)
        part = tie.actuator.part
        self.positions[number] = target
        self.settled[number] = settled = now + self.lanes.moves[number].draw()
        if isinstance(part, Gate):
            wait = part.open_us if target is Position.THROWN else part.refill_us
            self.ready[number] = settled + wait
        heapq.heappush(self.heap, (settled, SETTLE, number))
        self._log_position(now, number, f"to {target.value}")

    def _settle(self, now: int, number: int) -> None:
        position = self.positions[number]
        if position is None or self.settled[number] != now:
            return
        self._log_position(now, number, position.value)
        tie = self.lanes.ties[number]
        if tie.level is not None and position is Position.THROWN:
            self._let_go(now, tie, tie.level)

    def _let_go(self, now: int, tie: Tie, level: int) -> None:
        """What waits above a gate leaves: from the magazines, or from the place above."""
        going = [cell for cell in tie.cells if not self._stays(level, cell)]
        leaving = [(cell, kind) for cell in going for kind in self._going(now, level, cell)]
        if level == self.lanes.shown:
            self.changes.append((now, self._settled_late(tie)))
        if level < self.lanes.last:
            self._set_out(now, level, leaving)

    def _going(self, now: int, level: int, cell: int) -> Iterator[str]:
        """What a gate lets go in a cell, once."""
        kind = self._take(now, level, cell) if level else self._draw(now, cell)
        if kind:
            yield kind

    def _stays(self, level: int, cell: int) -> bool:
        """Whether an item stays above a gate that is cycled."""
        if self.mishaps is None:
            return False
        lane, grid = self.lanes.lane, self.lanes.grid
        held = self.places[level][cell] if level else self._offered(cell)
        gate = lane.gates[level]
        return held is not None and self.mishaps.stays(gate, level == 0, held, grid, cell)

    def _set_out(self, now: int, level: int, leaving: list[tuple[int, str]]) -> None:
        """Items set out together; those whose lanes take as long arrive together."""
        together: dict[int, list[tuple[int, str]]] = {}
        for cell, kind in leaving:
            due = now + self.lanes.fall(level, cell).draw()
            together.setdefault(due, []).append((cell, kind))
        for due, items in together.items():
            cells, kinds = zip(*items, strict=True)
            self._fly((due, level + 1, cells, kinds))
            for cell, kind in items if self.logs else ():
                self._log_item(now, "flight", level + 1, cell, kind)

    def _settled_late(self, tie: Tie) -> int:
        return self.lanes.moves[self.lanes.number_of[tie.actuator.index]].settled_late_us

    def _take(self, now: int, place: int, cell: int) -> str | None:
        kind = self.places[place][cell]
        waiting = self.queued.pop((place, cell), ())
        self._put(now, place, cell, waiting[0] if waiting else None)
        if waiting[1:]:
            self.queued[place, cell] = waiting[1:]
        self.still.pop((place, cell), None)
        return kind

    def _offered(self, cell: int) -> str:
        return self.lanes.offered(cell, self.positions)

    def _draw(self, now: int, cell: int) -> str | None:
        kind = self._offered(cell)
        if not self.left.get(kind, 1):
            what = f"no {kind} is left"
            self._fault(FaultKind.EMPTY_MAGAZINE, now, what, None, [cell])
            return None
        if kind in self.left:
            self.left[kind] -= 1
        self.taken[kind] = self.taken.get(kind, 0) + 1
        return kind

    def _fly(self, flight: Flight) -> None:
        heapq.heappush(self.heap, (flight[0], ARRIVE, len(self.flights)))
        self.flights.append(flight)

    def _arrive(self, flight: Flight) -> None:
        now, place, cells, kinds = flight
        if self.judges:
            self._look_at_arrival(now, place, cells)
        if place == self.lanes.shown:
            self.changes.append((now, self.lanes.arrival(place).late_us))
        for cell, kind in zip(cells, kinds, strict=True):
            self._land(flight, cell, kind)

    def _land(self, flight: Flight, cell: int, kind: str) -> None:
        now, place = flight[0], flight[1]
        if self.places[place][cell] is None or self.lanes.pushes_out(place):
            self._put(now, place, cell, kind)
            self.still[place, cell] = now + self.lanes.settle(place, cell).draw()
        else:
            self.queued[place, cell] = (*self.queued.get((place, cell), ()), kind)

    def _put(self, now: int, place: int, cell: int, kind: str | None) -> None:
        if self.logs and self.places[place][cell] != kind:
            self._log_item(now, "item", place, cell, kind or "")
        self.places[place][cell] = kind

    def _log_item(self, now: int, what: str, place: int, cell: int, kind: str) -> None:
        name = f"{self.lanes.place_name(place)}, {self.lanes.cell_name(cell)}"
        self.events.append(Event(now, what, name, cell, kind, place))

    def _log_position(self, now: int, number: int, state: str) -> None:
        if self.logs:
            actuator = self.lanes.actuators[number]
            self.events.append(Event(now, "position", actuator.name, actuator.index, state))

    def _look_at_picture(self, length: int) -> None:
        """Note by how far a change of the picture may come on the other side of the end."""
        shown = self.lanes.shown
        late = [now + late_us - length for now, late_us in self.changes]
        early = [
            length - due + self.lanes.arrival(shown).early_us
            for due, place, _, _ in self.flights
            if place == shown and due > length
        ]
        early += [
            length - due + self.lanes.moves[number].settled_early_us
            for number, due in enumerate(self.settled)
            if due > length and self.lanes.ties[number].level == shown
        ]
        by_us = max(*late, *early, 0, 0)
        if by_us > self.tolerance_us:
            what = f"the picture may change {milliseconds(by_us)} across the end of the table"
            grid = self.lanes.grid.name
            self.unsure.append(
                Fault(FaultKind.WRONG_KIND, length, "", what, grid=grid, by_us=by_us)
            )

    def _lasting(self, length: int) -> GridState:
        if self.judges:
            self._look_at_picture(length)
        past = -self.lanes.memory_us
        return GridState(
            tuple(self.positions),
            tuple(max(due - length, past) for due in self.settled),
            tuple(max(due - length, past) for due in self.ready),
            tuple(tuple(row) for row in self.places),
            tuple(sorted(self.spent)),
            tuple(
                sorted(
                    (place, cell, due - length)
                    for (place, cell), due in self.still.items()
                    if due - length > past
                )
            ),
            tuple(
                sorted(
                    (due - length, place, cells, kinds)
                    for due, place, cells, kinds in self.flights
                    if due > length
                )
            ),
            tuple(sorted((place, cell, kinds) for (place, cell), kinds in self.queued.items())),
        )
