"""The outputs as they are wired: which contact each moves, and which coils that contact feeds."""

from __future__ import annotations

import copy
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from seqc.machine.electrics import Drive, DriveKind, Relay
from seqc.machine.model import Machine
from seqc.machine.wiring import Actuator
from seqc.simulator.defects import Wiring
from seqc.simulator.pieces import Bounds, Pieces, Time

FORWARD, REVERSE, OFF = 1, -1, 0


@dataclass(frozen=True, slots=True)
class Line:
    """One output: its contact, the actuators whose current depends on it, and its drive.

    `name` tells what hangs on it. Its contact takes `closing` and `opening` to follow.
    """

    output: int
    name: str
    closing: Time
    opening: Time
    drive: Drive
    actuators: tuple[int, ...]

    @property
    def relay(self) -> Relay | None:
        """The relay that it drives; a switch is none."""
        return None if self.is_switch else self.drive.relay

    @property
    def is_switch(self) -> bool:
        """Whether it is the pulse switch of its drive."""
        return self.output == self.drive.switch

    @property
    def is_reverser(self) -> bool:
        """Whether it turns the rail of its drive."""
        return self.output == self.drive.reverser

    @property
    def is_delicate(self) -> bool:
        """Whether its contact may move only while it carries no current."""
        return not self.is_switch and (self.drive.switch is not None or self.is_reverser)

    def delay(self, active: int) -> Time:
        """From a change of the output until its contact has followed."""
        return self.closing if active else self.opening


@dataclass(frozen=True, slots=True)
class Way:
    """What must be closed for a coil to draw current, as bit sets of outputs.

    Without a reverser `forward` and `reverse` are the two polarities. With one, both are the coil's
    own relay and `turned` the reverser. `switch` is 0 where there is no pulse switch. `never` are
    the pairs that may not be closed at once: they would short the supply, or give no current. The
    coil of a `sign` of -1 has its wires swapped.
    """

    forward: int
    reverse: int
    turned: int
    switch: int
    never: tuple[tuple[int, int], ...] = ()
    sign: int = 1

    def polarity(self, closed: int) -> int:
        """The polarity of the coil while these contacts are closed."""
        return self.sign * self._connected(closed)

    def _connected(self, closed: int) -> int:
        if self.switch and not closed & self.switch:
            return OFF
        if self.turned:
            if not closed & self.forward:
                return OFF
            return REVERSE if closed & self.turned else FORWARD
        forward, reverse = (closed & way == way for way in (self.forward, self.reverse))
        return forward - reverse

    def asks_both(self, outputs: int) -> bool:
        """Whether these outputs ask for both polarities at once, or both ends of the supply."""
        return any(outputs >> one & outputs >> other & 1 for one, other in self.never)


class Harness:
    """What doesn't change: the machine's outputs, coils and supplies as they are wired."""

    def __init__(
        self, machine: Machine, tolerance_us: int, pieces: Pieces, judges: bool = True
    ) -> None:
        self.judges = judges
        self.actuators = machine.actuators
        self.idle = machine.idle_word
        self.lines = lines_of(machine, pieces)
        self.wired = sum(1 << output for output in self.lines)
        self.ways = [way_of(actuator, machine) for actuator in machine.actuators]
        self.gaps = [pieces.time(a.drive.gap(a.coil)) for a in machine.actuators]
        feeds = [actuator.drive.supply for actuator in machine.actuators]
        relays = {output: relay for output, line in self.lines.items() if (relay := line.relay)}
        coils = [relay.coil_supply for relay in relays.values() if relay.coil_supply]
        self.supplies = tuple(dict.fromkeys((*feeds, *coils)))
        self.supply_of = [self.supplies.index(supply) for supply in feeds]
        self.current_ua = [actuator.peak_ua for actuator in machine.actuators]
        self.relay_draws = {
            output: (self.supplies.index(relay.coil_supply), relay.coil_ua)
            for output, relay in relays.items()
            if relay.coil_supply
        }
        self.delicate = {output for output, line in self.lines.items() if line.is_delicate}
        self.tolerance_us = tolerance_us
        self.switching = [self._switching(actuator) for actuator in machine.actuators]
        self.has_bounds = isinstance(pieces, Bounds)
        self.most_early_us = max((line.closing.early_us for line in self.lines.values()), default=0)
        self.wiring = Wiring()

    def miswired(self, wiring: Wiring) -> Harness:
        """The harness with something wrong in it."""
        if not any(wiring):
            return self
        changed = copy.copy(self)
        changed.wiring = wiring
        lines = [wiring.line_of(index) for index in range(len(self.ways))]
        changed.ways = [
            replace(self.ways[line], sign=-1 if index in wiring.turned else 1)
            for index, line in enumerate(lines)
        ]
        if wiring.exchanged:
            changed.lines = {
                output: replace(line, actuators=tuple(lines[each] for each in line.actuators))
                for output, line in self.lines.items()
            }
        return changed

    def _switching(self, actuator: Actuator) -> Line:
        """The line that switches the current of a coil."""
        switch = actuator.drive.switch
        return self.lines[actuator.outputs[0] if switch is None else switch]

    def slack_us(self, index: int) -> int:
        """How much nearer than it seems a coil's pulse may start to the end of its last one."""
        line = self.switching[index]
        return line.closing.early_us + line.opening.late_us + self.gaps[index].late_us

    def fed_by(self, outputs: Iterable[int]) -> list[int]:
        """The actuators whose current depends on any of these outputs, in order."""
        return sorted({index for output in outputs for index in self.lines[output].actuators})


def lines_of(machine: Machine, pieces: Pieces) -> dict[int, Line]:
    """Every output that is wired, by its number."""
    users: dict[int, list[tuple[Actuator, str]]] = {}
    for actuator in machine.actuators:
        for output, word in zip(actuator.outputs, _words(actuator), strict=True):
            users.setdefault(output, []).append((actuator, word))
    lines = {}
    for output, own in users.items():
        first, word = own[0]
        name = f"{first.name} {word}".strip()
        title = f"{name} and {len(own) - 1} more" if len(own) > 1 else name
        indexes = tuple(actuator.index for actuator, _ in own)
        lines[output] = _line(pieces, output, title, first.drive, indexes)
    fed: dict[Drive, list[int]] = {}
    for actuator in machine.actuators:
        fed.setdefault(actuator.drive, []).append(actuator.index)
    for drive, actuators in fed.items():
        for shared, word in ((drive.reverser, "reverser"), (drive.switch, "pulse switch")):
            if shared is not None:
                lines[shared] = _line(pieces, shared, word, drive, tuple(actuators))
    return dict(sorted(lines.items()))


def way_of(actuator: Actuator, machine: Machine) -> Way:
    """How the coil of an actuator gets its current."""
    drive = actuator.drive
    switch = 0 if drive.switch is None else 1 << drive.switch
    turned = 0 if drive.reverser is None else 1 << drive.reverser
    outputs = actuator.outputs
    if drive.kind is DriveKind.MATRIX:
        row_high, low, row_low, high = outputs
        forward, reverse = 1 << row_high | 1 << low, 1 << row_low | 1 << high
        return Way(forward, reverse, 0, 0, ((low, high), *_rows_opposed(actuator, machine)))
    never = () if turned else ((outputs[0], outputs[-1]),)
    return Way(1 << outputs[0], 1 << outputs[-1], turned, switch, never)


def _rows_opposed(actuator: Actuator, machine: Machine) -> Iterator[tuple[int, int]]:
    """The high switch of a matrix's row with each low one, of its own row or another.

    By a column that is open, current would find its way from the one row's coil through another's.
    """
    own = [other.outputs for other in machine.actuators if other.drive == actuator.drive]
    return ((actuator.outputs[0], low) for low in dict.fromkeys(outputs[2] for outputs in own))


def bits(word: int) -> Iterator[int]:
    """The numbers of the bits that are set, lowest first."""
    while word:
        low = word & -word
        yield low.bit_length() - 1
        word ^= low


def _words(actuator: Actuator) -> tuple[str, ...]:
    match actuator.drive.kind:
        case DriveKind.SHARED_REVERSER:
            return ("",)
        case DriveKind.MATRIX:
            return "row high", "column low", "row low", "column high"
        case _:
            return "forward", "reverse"


def _line(pieces: Pieces, output: int, name: str, drive: Drive, actuators: tuple[int, ...]) -> Line:
    closing, opening = drive.lead, drive.lag
    if output == drive.switch:
        closing, opening = drive.turn_on, drive.turn_off
    title = f"output {output} ({name})"
    return Line(output, title, pieces.time(closing), pieces.time(opening), drive, actuators)
