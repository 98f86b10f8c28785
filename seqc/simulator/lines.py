"""The outputs as they are wired: which contact each moves, and which coils that contact feeds."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from seqc.machine.electrics import Drive, DriveKind
from seqc.machine.model import Machine
from seqc.machine.wiring import Actuator

FORWARD, REVERSE, OFF = 1, -1, 0


@dataclass(frozen=True, slots=True)
class Line:
    """One output: its contact, the actuators whose current depends on it, and its drive.

    `name` tells what hangs on it.
    """

    output: int
    name: str
    operate_us: int
    release_us: int
    drive: Drive
    actuators: tuple[int, ...]

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

    def delay_us(self, active: int) -> int:
        """From a change of the output until its contact has followed."""
        return self.operate_us if active else self.release_us


@dataclass(frozen=True, slots=True)
class Way:
    """What must be closed for a coil to draw current, as bit sets of outputs.

    Without a reverser `forward` and `reverse` are the two polarities. With one, both are the coil's
    own relay and `turned` the reverser. `switch` is 0 where there is no pulse switch.
    """

    forward: int
    reverse: int
    turned: int
    switch: int

    def polarity(self, closed: int) -> int:
        """The polarity of the coil while these contacts are closed."""
        if self.switch and not closed & self.switch:
            return OFF
        if self.turned:
            if not closed & self.forward:
                return OFF
            return REVERSE if closed & self.turned else FORWARD
        return bool(closed & self.forward) - bool(closed & self.reverse)

    def asks_both(self, outputs: int) -> bool:
        """Whether these outputs ask for both polarities at once."""
        return not self.turned and bool(outputs & self.forward and outputs & self.reverse)


class Harness:
    """What doesn't change: the machine's outputs, coils and supplies as they are wired."""

    def __init__(self, machine: Machine, tolerance_us: int) -> None:
        self.actuators = machine.actuators
        self.idle = machine.idle_word
        self.lines = lines_of(machine)
        self.wired = sum(1 << output for output in self.lines)
        self.ways = [way_of(actuator) for actuator in machine.actuators]
        self.gaps = [actuator.drive.gap_us(actuator.coil) for actuator in machine.actuators]
        self.supplies = tuple(dict.fromkeys(a.drive.supply for a in machine.actuators))
        self.supply_of = [self.supplies.index(a.drive.supply) for a in machine.actuators]
        self.current_ua = [actuator.coil.current_ua for actuator in machine.actuators]
        self.delicate = {output for output, line in self.lines.items() if line.is_delicate}
        self.tolerance_us = tolerance_us

    def fed_by(self, outputs: Iterable[int]) -> list[int]:
        """The actuators whose current depends on any of these outputs, in order."""
        return sorted({index for output in outputs for index in self.lines[output].actuators})


def lines_of(machine: Machine) -> dict[int, Line]:
    """Every output that is wired, by its number."""
    lines = {
        output: _line(output, f"{actuator.name} {word}".strip(), actuator.drive, (actuator.index,))
        for actuator in machine.actuators
        for output, word in zip(actuator.outputs, _words(actuator), strict=True)
    }
    fed: dict[Drive, list[int]] = {}
    for actuator in machine.actuators:
        fed.setdefault(actuator.drive, []).append(actuator.index)
    for drive, actuators in fed.items():
        for output, word in ((drive.reverser, "reverser"), (drive.switch, "pulse switch")):
            if output is not None:
                lines[output] = _line(output, word, drive, tuple(actuators))
    return dict(sorted(lines.items()))


def way_of(actuator: Actuator) -> Way:
    """How the coil of an actuator gets its current."""
    drive = actuator.drive
    switch = 0 if drive.switch is None else 1 << drive.switch
    turned = 0 if drive.reverser is None else 1 << drive.reverser
    return Way(1 << actuator.outputs[0], 1 << actuator.outputs[-1], turned, switch)


def bits(word: int) -> Iterator[int]:
    """The numbers of the bits that are set, lowest first."""
    while word:
        low = word & -word
        yield low.bit_length() - 1
        word ^= low


def _words(actuator: Actuator) -> tuple[str, ...]:
    one = actuator.drive.kind is DriveKind.SHARED_REVERSER
    return ("",) if one else ("forward", "reverse")


def _line(output: int, name: str, drive: Drive, actuators: tuple[int, ...]) -> Line:
    operate, release = drive.lead_us, drive.lag_us
    if output == drive.switch:
        operate, release = drive.turn_on_us, drive.turn_off_us
    return Line(output, f"output {output} ({name})", operate, release, drive, actuators)
