"""What the tables do over time: outputs, contacts, polarities of the coils, positions, passes.

The tables follow one another from home on. Contacts follow their outputs after the times of their
relays; a part has moved a travel time after its pulse started.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from seqc.codegen.labels import with_roles
from seqc.machine.electrics import Drive, DriveKind
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet
from seqc.machine.wiring import Actuator


class Signal(Enum):
    """What kind of thing changes."""

    TABLE = "table"
    OUTPUT = "output"
    COIL = "coil"
    POSITION = "position"
    PASS = "pass"


NONE, FORWARD, REVERSE = 0b00, 0b01, 0b10


@dataclass(frozen=True, slots=True, order=True)
class Change:
    """At `at_us` one signal takes a value: a level, a polarity, a position, a number."""

    at_us: int
    rank: int
    signal: Signal
    index: int
    value: int

    @classmethod
    def of(cls, at_us: int, signal: Signal, index: int, value: int) -> Change:
        """A change; those of one time are in order of their signals."""
        return cls(at_us, list(Signal).index(signal), signal, index, value)


def changes(machine: Machine, table_set: TableSet) -> Iterator[Change]:
    """Every change in order of time, from the first word on."""
    words = list(_words(table_set))
    levels = [*_level_changes(words, table_set.width), *_table_changes(table_set)]
    contacts = sorted(_contact_changes(machine, table_set.idle_word, words))
    coils = list(_coil_changes(machine, contacts))
    moves = sorted(_moves(machine, coils))
    found = [*levels, *coils, *moves, *_pass_changes(machine, coils)]
    return iter(sorted(found))


def length_us(table_set: TableSet) -> int:
    """The time that all tables take, one after the other."""
    return sum(table.length_us for table in table_set)


def _words(table_set: TableSet) -> Iterator[tuple[int, int]]:
    start_us = 0
    for table in table_set:
        for step in table.steps:
            yield start_us + step.at_us, step.word
        start_us += table.length_us


def _table_changes(table_set: TableSet) -> Iterator[Change]:
    start_us = 0
    for number, (_, table) in enumerate(with_roles(table_set)):
        yield Change.of(start_us, Signal.TABLE, 0, number)
        start_us += table.length_us


def _level_changes(words: list[tuple[int, int]], width: int) -> Iterator[Change]:
    before = ~words[0][1]
    for at_us, word in words:
        for output in _bits((word ^ before) & (1 << width) - 1):
            yield Change.of(at_us, Signal.OUTPUT, output, word >> output & 1)
        before = word


def _contact_changes(
    machine: Machine, idle_word: int, words: list[tuple[int, int]]
) -> Iterator[tuple[int, int, int]]:
    """Times at which a contact closes (1) or opens (0), with the output that moves it."""
    delays = _delays(machine)
    before = 0
    for at_us, word in words:
        active = word ^ idle_word
        for output in _bits(active ^ before):
            closes = active >> output & 1
            yield at_us + delays.get(output, (0, 0))[1 - closes], output, closes
        before = active


def _delays(machine: Machine) -> dict[int, tuple[int, int]]:
    """How long after its output each contact closes and opens; a pulse switch is solid state."""
    found: dict[int, tuple[int, int]] = {}
    for actuator in machine.actuators:
        drive = actuator.drive
        for output in (*actuator.outputs, drive.reverser):
            if output is not None:
                found[output] = (drive.lead_us, drive.lag_us)
    return found


def _coil_changes(machine: Machine, contacts: list[tuple[int, int, int]]) -> Iterator[Change]:
    fed = _fed_by(machine)
    closed = 0
    polarity = [NONE] * len(machine.actuators)
    for actuator in machine.actuators:
        yield Change.of(0, Signal.COIL, actuator.index, NONE)
    for at_us, moved in itertools.groupby(contacts, key=lambda contact: contact[0]):
        touched: set[int] = set()
        for _, output, closes in moved:
            closed = closed & ~(1 << output) | closes << output
            touched.update(fed.get(output, ()))
        for index in sorted(touched):
            now = _polarity(machine.actuators[index], closed)
            if now != polarity[index]:
                polarity[index] = now
                yield Change.of(at_us, Signal.COIL, index, now)


def _fed_by(machine: Machine) -> dict[int, list[int]]:
    """The actuators whose current depends on each output."""
    fed: dict[int, list[int]] = {}
    for actuator in machine.actuators:
        for output in (*actuator.outputs, actuator.drive.reverser, actuator.drive.switch):
            if output is not None:
                fed.setdefault(output, []).append(actuator.index)
    return fed


def _polarity(actuator: Actuator, closed: int) -> int:
    drive = actuator.drive
    if drive.switch is not None and not closed >> drive.switch & 1:
        return NONE
    forward = closed >> actuator.outputs[0] & 1
    if len(actuator.outputs) == 1:
        return _reversed(drive, closed) if forward else NONE
    if drive.kind is DriveKind.MATRIX:
        return _crossing(actuator, closed)
    reverse = closed >> actuator.outputs[1] & 1
    if forward == reverse:
        return NONE
    return FORWARD if forward else REVERSE


def _crossing(actuator: Actuator, closed: int) -> int:
    """The polarity of a matrix's coil: a row's switch and the opposite one of its column."""
    row_high, low, row_low, high = (closed >> output & 1 for output in actuator.outputs)
    if row_high and low:
        return FORWARD
    return REVERSE if row_low and high else NONE


def _reversed(drive: Drive, closed: int) -> int:
    return REVERSE if drive.reverser is not None and closed >> drive.reverser & 1 else FORWARD


def _moves(machine: Machine, coils: list[Change]) -> Iterator[Change]:
    for change in coils:
        if change.value != NONE:
            at_us = change.at_us + machine.actuators[change.index].coil.travel_us
            yield Change.of(at_us, Signal.POSITION, change.index, int(change.value == FORWARD))


def _pass_changes(machine: Machine, coils: list[Change]) -> Iterator[Change]:
    """Passes, counted from 1: one begins when a metering gate is thrown and all were at rest."""
    metering = {(lane.grid.name, lane.metering.name) for lane in machine.lanes}
    thrown: set[int] = set()
    count = 0
    yield Change.of(0, Signal.PASS, 0, 0)
    for change in coils:
        actuator = machine.actuators[change.index]
        if (actuator.grid.name, actuator.part.name) not in metering:
            continue
        if change.value == FORWARD:
            if not thrown:
                count += 1
                yield Change.of(change.at_us, Signal.PASS, 0, count)
            thrown.add(change.index)
        elif change.value == REVERSE:
            thrown.discard(change.index)


def _bits(word: int) -> Iterator[int]:
    while word:
        low = word & -word
        yield low.bit_length() - 1
        word ^= low
