"""A slow reference for the simulator: looks at the whole machine once every millisecond.

It shares no code with the simulator. Every item is an object, every rule is looked at in every
millisecond, and nothing is scheduled, remembered or skipped.
"""

from __future__ import annotations

from dataclasses import dataclass

from feeds import declared, inputs

from seqc.machine.electrics import DriveKind
from seqc.machine.model import Machine
from seqc.machine.parts import Branch, Cell, Feed, Gate, Lane
from seqc.machine.wiring import Actuator

Told = tuple[str, int, str]
"""A fault: its kind, its time in milliseconds, the name of its actuator."""


@dataclass
class Contact:
    """A relay's contact (or a solid-state switch), and the output that it follows."""

    operate: int
    release: int
    output: bool = False
    changed_at: int = -(10**9)
    closed: bool = False
    travelling: bool = False

    def step(self, now: int, output: bool) -> None:
        if output != self.output:
            self.output, self.changed_at = output, now
        wait = self.operate if self.output else self.release
        self.travelling = now - self.changed_at < wait
        if not self.travelling:
            self.closed = self.output


@dataclass
class Solenoid:
    """The coil of an actuator and its part."""

    actuator: Actuator
    polarity: int = 0
    since: int = -(10**9)
    last_polarity: int = 0
    until: int = -(10**9)
    position: str | None = None
    moved_at: int = -(10**9)
    moved_by_this_pulse: bool = False

    def age(self, now: int) -> int:
        """How long ago the part was settled; negative before."""
        return now - self.moved_at - self.actuator.settled_us // 1000

    def at_rest(self, now: int) -> bool:
        return self.position == "rest" and self.age(now) >= 0


@dataclass
class Piece:
    """An item: falling until it arrives at a place of a cell, or lying there since."""

    lane: Lane
    kind: str
    cell: Cell
    place: int
    arrives: int
    lies: bool = False


class SlowMachine:
    """The machine, with all that has gone wrong."""

    def __init__(self, machine: Machine) -> None:
        self.machine = machine
        self.faults: set[Told] = set()
        self.pieces: list[Piece] = []
        self.waiting: list[Piece] = []
        self.solenoids = [Solenoid(actuator) for actuator in machine.actuators]
        self.contacts: dict[int, Contact] = {}
        for actuator in machine.actuators:
            drive = actuator.drive
            for output in (*actuator.outputs, drive.reverser, drive.switch):
                if output is not None:
                    slow = drive.relay is not None and output != drive.switch
                    times = (drive.lead_us // 1000, drive.lag_us // 1000) if slow else (0, 0)
                    self.contacts[output] = Contact(*times)
        self.asking: set[str] = set()
        self.carrying: set[int] = set()
        self.overloaded = False

    def picture(self, grid: str) -> tuple[str | None, ...]:
        lane = self.machine.lane_of(grid)
        return tuple(self._kind_at(lane, lane.gates_above, cell) for cell in lane.grid.cells)

    def step(self, now: int, word: int) -> None:
        """One millisecond, with these levels from its start on."""
        active = word ^ self.machine.idle_word
        for output, contact in self.contacts.items():
            contact.step(now, bool(active >> output & 1))
        self._look_at_polarities(now)
        self._let_items_arrive(now)
        for solenoid in self.solenoids:
            if solenoid.position == "thrown" and solenoid.age(now) == 0:
                self._let_go(now, solenoid)
        self._follow_currents(now)
        self._look_at_lengths(now)
        self._look_at_supply(now)
        self._look_at_loads(now)

    def _fault(self, kind: str, now: int, name: str = "") -> None:
        self.faults.add((kind, now, name))

    def _on(self, output: int | None) -> bool:
        return output is not None and self.contacts[output].closed

    def _polarity(self, actuator: Actuator) -> int:
        drive = actuator.drive
        if drive.switch is not None and not self._on(drive.switch):
            return 0
        if drive.kind is DriveKind.SHARED_REVERSER:
            if not self._on(actuator.outputs[0]):
                return 0
            return -1 if self._on(drive.reverser) else 1
        half = len(actuator.outputs) // 2
        forward = all(map(self._on, actuator.outputs[:half]))
        reverse = all(map(self._on, actuator.outputs[half:]))
        if forward == reverse:
            return 0
        return 1 if forward else -1

    def _look_at_polarities(self, now: int) -> None:
        for actuator in self.machine.actuators:
            if len(actuator.outputs) < 2:
                continue
            pair = [self.contacts[output] for output in actuator.outputs]
            asked = all(contact.output for contact in pair)
            both = asked or all(contact.closed for contact in pair)
            if both and actuator.name not in self.asking:
                self._fault("both-polarities", now, actuator.name)
            self.asking -= {actuator.name}
            self.asking |= {actuator.name} if both else set()

    def _follow_currents(self, now: int) -> None:
        polarities = [self._polarity(actuator) for actuator in self.machine.actuators]
        changed = [
            (solenoid, polarity)
            for solenoid, polarity in zip(self.solenoids, polarities, strict=True)
            if solenoid.polarity != polarity
        ]
        for solenoid, _ in changed:
            if solenoid.polarity:
                self._end(now, solenoid)
        for solenoid, polarity in changed:
            if polarity:
                self._begin(now, solenoid, polarity)

    def _end(self, now: int, solenoid: Solenoid) -> None:
        if now - solenoid.since < solenoid.actuator.coil.pulse_us // 1000:
            self._fault("pulse-too-short", now, solenoid.actuator.name)
            if solenoid.moved_by_this_pulse:
                solenoid.position = None
        solenoid.last_polarity, solenoid.until = solenoid.polarity, now
        solenoid.polarity = 0

    def _begin(self, now: int, solenoid: Solenoid, polarity: int) -> None:
        actuator = solenoid.actuator
        gap = 1000 * (now - solenoid.until)
        turned = solenoid.last_polarity == -polarity
        if turned and gap < actuator.drive.dead_us:
            self._fault("dead-time", now, actuator.name)
        elif gap < max(actuator.coil.recover_us, actuator.coil.decay_us):
            self._fault("pulse-too-soon", now, actuator.name)
        solenoid.polarity, solenoid.since = polarity, now
        target = "thrown" if polarity > 0 else "rest"
        solenoid.moved_by_this_pulse = solenoid.position != target
        if solenoid.moved_by_this_pulse:
            self._look_at_move(now, solenoid, target)
            solenoid.position, solenoid.moved_at = target, now

    def _near(self, actuator: Actuator) -> list[Solenoid]:
        return [
            other
            for other in self.solenoids
            if other.actuator.grid.name == actuator.grid.name
            and set(other.actuator.cells) & set(actuator.cells)
        ]

    def _lane(self, actuator: Actuator) -> Lane:
        return self.machine.lane_of(actuator.grid.name)

    def _look_at_move(self, now: int, solenoid: Solenoid, target: str) -> None:
        actuator = solenoid.actuator
        metering = self._lane(actuator).metering.name
        if not isinstance(actuator.part, Gate):
            gates = [other for other in self._near(actuator) if other.actuator.is_gate]
            over = [gate for gate in gates if gate.actuator.part.name == metering]
            if any(gate.position and not gate.at_rest(now) for gate in over):
                self._fault("selector-under-open-gate", now, actuator.name)
            elif any(gate.position is None for gate in gates):
                self._fault("selector-before-gates", now, actuator.name)
        elif solenoid.position == "thrown":
            if 1000 * solenoid.age(now) < actuator.part.open_us:
                self._fault("return-too-soon", now, actuator.name)
        elif target == "thrown":
            if solenoid.position and 1000 * solenoid.age(now) < actuator.part.refill_us:
                self._fault("throw-too-soon", now, actuator.name)
            self._look_above(now, actuator)

    def _look_above(self, now: int, actuator: Actuator) -> None:
        lane = self._lane(actuator)
        level = lane.gates.index(actuator.part)
        if level:
            for piece in self.pieces:
                here = piece.lane is lane and piece.place == level and piece.cell in actuator.cells
                if here and piece.lies and self._rolls(now, piece):
                    self._fault("item-not-still", now, actuator.name)
            return
        for other in self._near(actuator):
            if other.actuator.is_gate:
                continue
            if other.position is None:
                self._fault("selector-not-known", now, actuator.name)
            elif other.age(now) < 0:
                self._fault("selector-not-settled", now, actuator.name)

    def _rolls(self, now: int, piece: Piece) -> bool:
        paths = piece.lane.paths
        settle = paths[piece.place - 1].settle_us if piece.place <= len(paths) else 0
        return 1000 * (now - piece.arrives) < settle

    def _gate_of(self, lane: Lane, place: int, cell: Cell) -> Solenoid | None:
        if place == len(lane.gates):
            return None
        actuator = self.machine.actuator_of(lane.gates[place], lane.grid, cell)
        return self.solenoids[actuator.index]

    def _kind_at(self, lane: Lane, place: int, cell: Cell) -> str | None:
        for piece in self.pieces:
            if piece.lies and (piece.lane, piece.place, piece.cell) == (lane, place, cell):
                return piece.kind
        return None

    def _let_items_arrive(self, now: int) -> None:
        for piece in [p for p in self.pieces if not p.lies and p.arrives == now]:
            self._arrive(now, piece)

    def _arrive(self, now: int, piece: Piece) -> None:
        gate = self._gate_of(piece.lane, piece.place, piece.cell)
        old = [
            other
            for other in self.pieces
            if other.lies
            and (other.lane, other.place, other.cell) == (piece.lane, piece.place, piece.cell)
        ]
        piece.lies = True
        if gate is None:
            self.pieces = [other for other in self.pieces if other not in old]
            return
        if not gate.at_rest(now):
            self._fault("arrives-at-open-gate", now, gate.actuator.name)
        if old:
            self._fault("arrives-at-full-place", now)
            self.pieces.remove(piece)
            self.waiting.append(piece)

    def _let_go(self, now: int, solenoid: Solenoid) -> None:
        actuator = solenoid.actuator
        if not isinstance(actuator.part, Gate):
            return
        lane = self._lane(actuator)
        level = lane.gates.index(actuator.part)
        for cell in actuator.cells:
            kind = self._kind_at(lane, level, cell) if level else self._offered(lane, cell)
            self.pieces = [
                p
                for p in self.pieces
                if not (level and p.lies and (p.lane, p.place, p.cell) == (lane, level, cell))
            ]
            self._move_up(now, lane, level, cell)
            if kind is not None and level + 1 <= max(lane.gates_above, len(lane.gates) - 1):
                fall = lane.paths[level].fall_us // 1000 if level < len(lane.paths) else 0
                piece = Piece(lane, kind, cell, level + 1, now + fall)
                self.pieces.append(piece)
                if not fall:
                    self._arrive(now, piece)

    def _move_up(self, now: int, lane: Lane, level: int, cell: Cell) -> None:
        """The first item that waits above a place comes into it, and lies still at once."""
        for piece in self.waiting:
            if level and (piece.lane, piece.place, piece.cell) == (lane, level, cell):
                self.waiting.remove(piece)
                self.pieces.append(piece)
                piece.arrives = now - 1_000_000
                return

    def _offered(self, lane: Lane, cell: Cell) -> str:
        feed: Feed = declared(lane, cell)
        while isinstance(feed, Branch):
            actuator = self.machine.actuator_of(feed.selector, lane.grid, cell)
            position = self.solenoids[actuator.index].position
            if position is None:
                return "?"
            feed = inputs(feed, cell)[position == "thrown"]
        return feed.name

    def _look_at_lengths(self, now: int) -> None:
        for solenoid in self.solenoids:
            longest = solenoid.actuator.coil.longest_us // 1000
            if solenoid.polarity and now - solenoid.since == longest:
                self._fault("pulse-too-long", now, solenoid.actuator.name)

    def _look_at_supply(self, now: int) -> None:
        supply = self.machine.supplies[0]
        drawn = sum(s.actuator.coil.current_ua for s in self.solenoids if s.polarity)
        over = drawn * (1_000_000 + supply.margin_ppm) > supply.limit_ua * 1_000_000
        if over and not self.overloaded:
            self._fault("overload", now)
        self.overloaded = over

    def _look_at_loads(self, now: int) -> None:
        drive = self.machine.actuators[0].drive
        kind = "reversed-under-load" if drive.switch is None else "switched-under-load"
        carrying = set()
        for output, contact in self.contacts.items():
            if drive.switch is not None:
                loaded = self._on(drive.switch)
            else:
                loaded = output == drive.reverser and any(s.polarity for s in self.solenoids)
            if contact.travelling and loaded and output != drive.switch:
                carrying.add(output)
        for output in sorted(carrying - self.carrying):
            self._fault(kind, now, str(output))
        self.carrying = carrying
