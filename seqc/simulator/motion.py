"""From pulses to positions, and from positions to the items that move through one grid.

Everything is counted from the start of the table that runs; a `GridState` carries what lasts from
one table to the next, and equal states with equal pulses have equal outcomes.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable
from dataclasses import dataclass, field

from seqc.machine.parts import Gate, Position
from seqc.simulator.coils import END, FAILED, START_THROWN, Feel
from seqc.simulator.faults import Event, Fault, FaultKind, milliseconds
from seqc.simulator.lanes import Lanes, Tie

ARRIVE, SETTLE, PULSE = range(3)
"""What falls due, in the order in which it is taken at one instant: an item that has just arrived
may go on at once, and a gate that has just settled may turn back at once."""

Flight = tuple[int, int, tuple[int, ...], tuple[str, ...]]
"""Items on their way: when they arrive, at which place, in which cells, of which kinds."""


@dataclass(frozen=True, slots=True)
class GridState:
    """Positions and items of one grid, with times in microseconds from now, 0 for what is past.

    `settled` and `ready` go by actuator: when its part is settled, and when it may move on (back,
    if it is a gate thrown; again, if it is one at rest). `spent`: actuators under a pulse that
    moves nothing. `places`: for each place the kind in each cell. `unsteady`: (place, cell, when
    its item lies still).
    """

    positions: tuple[Position | None, ...]
    settled: tuple[int, ...]
    ready: tuple[int, ...]
    places: tuple[tuple[str | None, ...], ...]
    spent: tuple[int, ...] = ()
    unsteady: tuple[tuple[int, int, int], ...] = ()
    flights: tuple[Flight, ...] = ()

    @property
    def pending_us(self) -> int:
        """When the last of what moves by itself has come to rest."""
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


@dataclass
class GridRun:
    """One table going through the parts and lanes of one grid.

    `left` counts what the magazines still hold by kind; a kind that it lacks never runs out.
    """

    lanes: Lanes
    state: GridState
    tolerance_us: int
    left: dict[str, int]
    logs: bool = False
    faults: list[Fault] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    taken: dict[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        state = self.state
        self.positions = list(state.positions)
        self.settled, self.ready = list(state.settled), list(state.ready)
        self.places = [list(row) for row in state.places]
        self.spent = set(state.spent)
        self.still = {(place, cell): due for place, cell, due in state.unsteady}
        self.heap: list[tuple[int, int, int]] = []
        self.flights: list[Flight] = []
        for number, due in enumerate(state.settled):
            if due:
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

    def _early(self, now: int, due: int) -> bool:
        return now + self.tolerance_us < due

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
        self._look_at_move(now, number, tie, target)
        part = tie.actuator.part
        self.positions[number] = target
        self.settled[number] = settled = now + tie.actuator.settled_us
        if isinstance(part, Gate):
            wait = part.open_us if target is Position.THROWN else part.refill_us
            self.ready[number] = settled + wait
        heapq.heappush(self.heap, (settled, SETTLE, number))
        self._log_position(now, number, "moving")

    def _look_at_move(self, now: int, number: int, tie: Tie, target: Position) -> None:
        if tie.level is None:
            self._look_at_gates(now, tie)
        elif target is Position.REST:
            self._look_at_return(now, number, tie)
        else:
            self._look_at_throw(now, number, tie)

    def _look_at_gates(self, now: int, tie: Tie) -> None:
        for number in tie.metering:
            gate = self.lanes.ties[number].name
            if self.positions[number] is Position.THROWN:
                why = f"{gate} below it is thrown"
            elif self.positions[number] and self._early(now, self.settled[number]):
                early = milliseconds(self.settled[number] - now)
                why = f"{gate} below it settles at rest {early} later"
            else:
                continue
            self._fault(
                FaultKind.SELECTOR_UNDER_OPEN_GATE, now, f"{tie.name} moves while {why}", tie
            )
            return
        for number in (*tie.metering, *tie.others):
            if self.positions[number] is None:
                gate = self.lanes.ties[number].name
                what = f"{tie.name} moves while it isn't known whether {gate} is at rest"
                self._fault(FaultKind.SELECTOR_BEFORE_GATES, now, what, tie)
                return

    def _look_at_return(self, now: int, number: int, tie: Tie) -> None:
        if self.positions[number] and self._early(now, self.ready[number]):
            early = milliseconds(self.ready[number] - now)
            what = f"{tie.name} returns {early} before it has been open for long enough"
            self._fault(FaultKind.RETURN_TOO_SOON, now, what, tie)

    def _look_at_throw(self, now: int, number: int, tie: Tie) -> None:
        if self.positions[number] and self._early(now, self.ready[number]):
            early = milliseconds(self.ready[number] - now)
            what = f"{tie.name} is thrown {early} before it may be after its last return"
            self._fault(FaultKind.THROW_TOO_SOON, now, what, tie)
        if tie.level:
            self._look_at_items(now, tie)
        else:
            self._look_at_selectors(now, tie)

    def _look_at_selectors(self, now: int, tie: Tie) -> None:
        for number in tie.selectors:
            selector = self.lanes.ties[number].name
            if self.positions[number] is None:
                what = f"{tie.name} is thrown while the position of {selector} isn't known"
                self._fault(FaultKind.SELECTOR_NOT_KNOWN, now, what, tie)
            elif self._early(now, self.settled[number]):
                early = milliseconds(self.settled[number] - now)
                what = f"{tie.name} is thrown {early} before {selector} is settled"
                self._fault(FaultKind.SELECTOR_NOT_SETTLED, now, what, tie)

    def _look_at_items(self, now: int, tie: Tie) -> None:
        place = tie.level or 0
        moving = [
            cell for cell in tie.cells if self._early(now, self.still.get((place, cell), now))
        ]
        if moving:
            early = milliseconds(max(self.still[place, cell] for cell in moving) - now)
            what = f"{tie.name} is thrown {early} before the item above it lies still"
            self._fault(FaultKind.ITEM_NOT_STILL, now, what, tie, moving)

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
        take = self._take if level else self._draw
        leaving = [(cell, kind) for cell in tie.cells if (kind := take(now, level, cell))]
        if leaving and level < self.lanes.last:
            cells, kinds = zip(*leaving, strict=True)
            self._fly((now + self.lanes.fall_us(level), level + 1, cells, kinds))

    def _take(self, now: int, place: int, cell: int) -> str | None:
        kind = self.places[place][cell]
        self._put(now, place, cell, None)
        self.still.pop((place, cell), None)
        return kind

    def _draw(self, now: int, _place: int, cell: int) -> str | None:
        kind = self.lanes.offered(cell, self.positions)
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
        self._look_at_arrival(now, place, cells)
        steady = now + self.lanes.settle_us(place)
        for cell, kind in zip(cells, kinds, strict=True):
            if self.places[place][cell] is None or self.lanes.pushes_out(place):
                self._put(now, place, cell, kind)
                self.still[place, cell] = steady

    def _look_at_arrival(self, now: int, place: int, cells: tuple[int, ...]) -> None:
        if self.lanes.pushes_out(place):
            return
        where = self.lanes.place_name(place)
        full = [cell for cell in cells if self.places[place][cell] is not None]
        if full:
            holds = self.places[place][full[0]]
            what = f"an item arrives at {where}, which holds {holds} already"
            self._fault(FaultKind.ARRIVES_AT_FULL_PLACE, now, what, None, full)
        gates = self.lanes.gate_at[place]
        for number in dict.fromkeys(gates[cell] for cell in cells):
            if not self._is_shut(now, number):
                gate = self.lanes.ties[number]
                what = f"an item arrives at {where} while {gate.name} isn't settled at rest"
                slipping = [cell for cell in cells if gates[cell] == number]
                self._fault(FaultKind.ARRIVES_AT_OPEN_GATE, now, what, gate, slipping)

    def _is_shut(self, now: int, gate: int) -> bool:
        at_rest = self.positions[gate] is Position.REST
        return at_rest and not self._early(now, self.settled[gate])

    def _put(self, now: int, place: int, cell: int, kind: str | None) -> None:
        if self.logs and self.places[place][cell] != kind:
            name = f"{self.lanes.place_name(place)}, {self.lanes.cell_name(cell)}"
            self.events.append(Event(now, "item", name, cell, kind or ""))
        self.places[place][cell] = kind

    def _log_position(self, now: int, number: int, state: str) -> None:
        if self.logs:
            actuator = self.lanes.actuators[number]
            self.events.append(Event(now, "position", actuator.name, actuator.index, state))

    def _fault(
        self,
        kind: FaultKind,
        now: int,
        what: str,
        tie: Tie | None,
        cells: list[int] | None = None,
    ) -> None:
        cell = None
        if cells:
            cell = self.lanes.grid.cells[cells[0]]
            more = f" and {len(cells) - 1} more" if len(cells) > 1 else ""
            what = f"{what} ({self.lanes.cell_name(cells[0])}{more})"
        name = tie.name if tie else ""
        self.faults.append(Fault(kind, now, "", what, name, self.lanes.grid.name, cell))

    def _lasting(self, length: int) -> GridState:
        return GridState(
            tuple(self.positions),
            tuple(max(due - length, 0) for due in self.settled),
            tuple(max(due - length, 0) for due in self.ready),
            tuple(tuple(row) for row in self.places),
            tuple(sorted(self.spent)),
            tuple(
                sorted(
                    (place, cell, due - length)
                    for (place, cell), due in self.still.items()
                    if due > length
                )
            ),
            tuple(
                sorted(
                    (due - length, place, cells, kinds)
                    for due, place, cells, kinds in self.flights
                    if due > length
                )
            ),
        )
