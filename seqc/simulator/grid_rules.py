"""The rules of motion, held against one grid as its parts move and its items arrive."""

from __future__ import annotations

from seqc.machine.parts import Position
from seqc.simulator.faults import Fault, FaultKind, milliseconds
from seqc.simulator.lanes import Lanes, Tie


class GridRules:
    """What is known of a grid while a table runs, and the faults that the rules find in it."""

    lanes: Lanes
    tolerance_us: int
    faults: list[Fault]
    positions: list[Position | None]
    settled: list[int]
    ready: list[int]
    places: list[list[str | None]]
    still: dict[tuple[int, int], int]

    def _early(self, now: int, due: int, slack: int) -> int:
        """By how much some pieces let something happen before it may; 0 if none do."""
        missing = due + slack - now
        return missing if missing > self.tolerance_us else 0

    def _slack(self, moving: int, awaited: int) -> int:
        """How much nearer the start of one pulse may be to the time at which a part has settled."""
        moves = self.lanes.moves
        return moves[moving].start_early_us + moves[awaited].settled_late_us

    def _look_at_move(self, now: int, number: int, tie: Tie, target: Position) -> None:
        if tie.level is None:
            self._look_at_gates(now, number, tie)
        elif target is Position.REST:
            self._look_at_return(now, number, tie)
        else:
            self._look_at_throw(now, number, tie)

    def _look_at_gates(self, now: int, selector: int, tie: Tie) -> None:
        for number in tie.metering:
            gate = self.lanes.ties[number].name
            early = self._early(now, self.settled[number], self._slack(selector, number))
            if self.positions[number] is Position.THROWN:
                why, early = f"{gate} below it is thrown", 0
            elif self.positions[number] and early:
                why = f"{gate} below it settles at rest {milliseconds(early)} later"
            else:
                continue
            what = f"{tie.name} moves while {why}"
            self._fault(FaultKind.SELECTOR_UNDER_OPEN_GATE, now, what, tie, by_us=early)
            return
        for number in (*tie.metering, *tie.others):
            if self.positions[number] is None:
                gate = self.lanes.ties[number].name
                what = f"{tie.name} moves while it isn't known whether {gate} is at rest"
                self._fault(FaultKind.SELECTOR_BEFORE_GATES, now, what, tie)
                return

    def _look_at_return(self, now: int, number: int, tie: Tie) -> None:
        early = self._early(now, self.ready[number], self._slack(number, number))
        if self.positions[number] and early:
            before = milliseconds(early)
            what = f"{tie.name} returns {before} before it has been open for long enough"
            self._fault(FaultKind.RETURN_TOO_SOON, now, what, tie, by_us=early)

    def _look_at_throw(self, now: int, number: int, tie: Tie) -> None:
        early = self._early(now, self.ready[number], self._slack(number, number))
        if self.positions[number] and early:
            before = milliseconds(early)
            what = f"{tie.name} is thrown {before} before it may be after its last return"
            self._fault(FaultKind.THROW_TOO_SOON, now, what, tie, by_us=early)
        if tie.level:
            self._look_at_items(now, number, tie)
        else:
            self._look_at_selectors(now, number, tie)

    def _look_at_selectors(self, now: int, gate: int, tie: Tie) -> None:
        for number in tie.selectors:
            early = self._early(now, self.settled[number], self._slack(gate, number))
            selector = self.lanes.ties[number].name
            if self.positions[number] is None:
                what = f"{tie.name} is thrown while the position of {selector} isn't known"
                self._fault(FaultKind.SELECTOR_NOT_KNOWN, now, what, tie)
            elif early:
                what = f"{tie.name} is thrown {milliseconds(early)} before {selector} is settled"
                self._fault(FaultKind.SELECTOR_NOT_SETTLED, now, what, tie, by_us=early)

    def _look_at_items(self, now: int, gate: int, tie: Tie) -> None:
        place = tie.level or 0
        slack = self.lanes.moves[gate].start_early_us + self.lanes.still_late_us(place)
        missing = {
            cell: early
            for cell in tie.cells
            if (place, cell) in self.still
            and (early := self._early(now, self.still[place, cell], slack))
        }
        if missing:
            early = max(missing.values())
            before = milliseconds(early)
            what = f"{tie.name} is thrown {before} before the item above it lies still"
            self._fault(FaultKind.ITEM_NOT_STILL, now, what, tie, [*missing], by_us=early)

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
            slack = self.lanes.arrival(place).early_us + self.lanes.moves[number].settled_late_us
            early = self._early(now, self.settled[number], slack)
            if early or self.positions[number] is not Position.REST:
                gate = self.lanes.ties[number]
                what = f"an item arrives at {where} while {gate.name} isn't settled at rest"
                slipping = [cell for cell in cells if gates[cell] == number]
                kind = FaultKind.ARRIVES_AT_OPEN_GATE
                self._fault(kind, now, what, gate, slipping, by_us=early)

    def _fault(
        self,
        kind: FaultKind,
        now: int,
        what: str,
        tie: Tie | None,
        cells: list[int] | None = None,
        by_us: int = 0,
    ) -> None:
        cell = None
        if cells:
            cell = self.lanes.grid.cells[cells[0]]
            more = f" and {len(cells) - 1} more" if len(cells) > 1 else ""
            what = f"{what} ({self.lanes.cell_name(cells[0])}{more})"
        name = tie.name if tie else ""
        grid = self.lanes.grid.name
        self.faults.append(Fault(kind, now, "", what, name, grid, cell, by_us=by_us))
