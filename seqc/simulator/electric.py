"""From output words to contacts, and from contacts to pulses.

Everything is counted from the start of the table that runs; an `ElectricState` carries what lasts
from one table to the next, and equal states with equal tables have equal outcomes.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable
from dataclasses import dataclass, field

from seqc.machine.electrics import Supply
from seqc.machine.model import Machine
from seqc.machine.steptable import Step
from seqc.simulator.faults import Event, Fault, FaultKind, amperes, milliseconds
from seqc.simulator.lines import FORWARD, OFF, REVERSE, bits, lines_of, way_of

LONG, OVERLOAD, CARRYING, WORD, CONTACT = range(5)
"""What falls due, in the order in which it is taken at one instant: first what is to be looked at
as it stood before the instant, then the word, then the contacts."""

START_REST, START_THROWN, END, FAILED = range(4)
"""What a part feels of its coil: a pulse to rest, one to thrown, its end, its end too soon."""

COIL_STATES = {FORWARD: "forward", REVERSE: "reverse", OFF: "off"}

Feel = tuple[int, int, int]
"""A time, the index of an actuator, and what its part feels."""


@dataclass(frozen=True, slots=True)
class ElectricState:
    """Outputs and contacts as bit sets, and what still runs, in microseconds from now.

    `arrivals`: (output, when its contact gets there). `powered`: (actuator, polarity, since).
    `released`: (actuator, polarity, until), while its coil recovers. `carrying`: contacts that
    move under load. `doubts`: what is to be looked at, and when.
    """

    active: int = 0
    closed: int = 0
    arrivals: tuple[tuple[int, int], ...] = ()
    powered: tuple[tuple[int, int, int], ...] = ()
    released: tuple[tuple[int, int, int], ...] = ()
    carrying: tuple[int, ...] = ()
    doubts: tuple[tuple[int, int, int, int], ...] = ()

    @property
    def pending_us(self) -> int:
        """When the last of what runs by itself is over."""
        dues = [due for _, due in self.arrivals] + [doubt[0] for doubt in self.doubts]
        return max(dues, default=0)


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
        self.tolerance_us = tolerance_us


@dataclass
class ElectricRun:
    """One table going through the outputs, contacts and coils."""

    harness: Harness
    state: ElectricState
    logs: bool = False
    feels: list[Feel] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    closings: dict[int, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        state = self.state
        self.active, self.closed = state.active, state.closed
        self.arrivals = dict(state.arrivals)
        self.powered = {index: (polarity, since) for index, polarity, since in state.powered}
        self.released = {index: (polarity, until) for index, polarity, until in state.released}
        self.carrying = set(state.carrying)
        self.heap = list(state.doubts)
        self.heap += [(due, CONTACT, output, 0) for output, due in state.arrivals]
        self.heap += [
            self._long(index, since)
            for index, _, since in state.powered
            if self._long(index, since)[0] > 0
        ]
        self.flipped: list[int] = []
        self.drawn_ua = [0] * len(self.harness.supplies)
        for index in self.powered:
            self._draw(index, 1)

    def run(self, steps: Iterable[Step], length_us: int) -> ElectricState:
        """Apply the steps, go on until the end of the table, and give what lasts."""
        self.heap += [(step.at_us, WORD, rank, step.word) for rank, step in enumerate(steps)]
        heapq.heapify(self.heap)
        while self.heap and self.heap[0][0] <= length_us:
            now = self.heap[0][0]
            while self.heap and self.heap[0][0] == now:
                self._take(*heapq.heappop(self.heap))
            self._follow(now)
        return self._lasting(length_us)

    def _take(self, now: int, what: int, subject: int, detail: int) -> None:
        if what == WORD:
            self._drive(now, detail)
        elif what == CONTACT:
            self._arrive(now, subject)
        elif what == LONG:
            self._look_at_length(subject, detail)
        elif what == OVERLOAD:
            self._look_at_supply(subject, detail)
        else:
            self._look_at_contact(subject, detail)

    def _drive(self, now: int, word: int) -> None:
        active = word ^ self.harness.idle
        for output in bits(active & ~self.active & ~self.harness.wired):
            what = f"output {output} is active, and nothing is wired to it"
            self.faults.append(Fault(FaultKind.UNWIRED_OUTPUT, now, "", what))
        before, self.active = self.active, active
        for output in bits((active ^ before) & self.harness.wired):
            delay = self.harness.lines[output].delay_us(active >> output & 1)
            self.arrivals[output] = now + delay
            heapq.heappush(self.heap, (now + delay, CONTACT, output, 0))
        for index in self._asked_both(active & ~before):
            if not self.harness.ways[index].asks_both(before):
                self._fault_both(now, index, "outputs of both polarities are active")

    def _asked_both(self, outputs: int) -> list[int]:
        """The actuators that these outputs have a hand in and that are asked for both now."""
        lines = self.harness.lines
        near = {i for n in bits(outputs & self.harness.wired) for i in lines[n].actuators}
        return sorted(i for i in near if self.harness.ways[i].asks_both(self.active))

    def _fault_both(self, now: int, index: int, why: str) -> None:
        name = self.harness.actuators[index].name
        what = f"{why} at once on the coil of {name}"
        self.faults.append(Fault(FaultKind.BOTH_POLARITIES, now, "", what, name))

    def _arrive(self, now: int, output: int) -> None:
        if self.arrivals.get(output) != now:
            return
        del self.arrivals[output]
        on = self.active >> output & 1
        if self.closed >> output & 1 == on:
            return
        self.closed ^= 1 << output
        self.flipped.append(output)
        if self.logs:
            name = self.harness.lines[output].name
            self.events.append(Event(now, "relay", name, output, "closed" if on else "open"))
        if on:
            self.closings[output] = self.closings.get(output, 0) + 1
            self._look_at_both(now, output)

    def _look_at_both(self, now: int, output: int) -> None:
        index = self.harness.lines[output].actuators[0]
        way = self.harness.ways[index]
        if way.asks_both(self.closed) and not way.asks_both(self.active):
            self._fault_both(now, index, "contacts of both polarities are closed")

    def _follow(self, now: int) -> None:
        """Let coils, supplies and loaded contacts follow all that moved at this instant."""
        if self.flipped:
            lines = self.harness.lines
            touched = sorted({i for output in self.flipped for i in lines[output].actuators})
            self.flipped.clear()
            self._feed(now, touched)
        carrying = {output for output in self.arrivals if self._is_loaded(output)}
        for output in sorted(carrying - self.carrying):
            self._doubt(now, CARRYING, output)
        self.carrying = carrying

    def _feed(self, now: int, touched: list[int]) -> None:
        before = self._overloaded()
        starting = []
        for index in touched:
            polarity = self.harness.ways[index].polarity(self.closed)
            if polarity == self.powered.get(index, (OFF, 0))[0]:
                continue
            if index in self.powered:
                self._end(now, index)
            if polarity:
                starting.append((index, polarity))
        for index, polarity in starting:
            self._start(now, index, polarity)
        for supply in sorted(self._overloaded() - before):
            self._doubt(now, OVERLOAD, supply)

    def _end(self, now: int, index: int) -> None:
        polarity, since = self.powered.pop(index)
        self.released[index] = polarity, now
        self._draw(index, -1)
        actuator = self.harness.actuators[index]
        least = actuator.coil.pulse_us
        failed = now - since + self.harness.tolerance_us < least
        self.feels.append((now, index, FAILED if failed else END))
        if failed:
            what = (
                f"the pulse of {actuator.name} is {milliseconds(now - since)} long and may not "
                f"latch; coil {actuator.coil.name} needs {milliseconds(least)}"
            )
            self._fault(FaultKind.PULSE_TOO_SHORT, now, what, actuator.name)
        self._log_coil(now, index, OFF)

    def _start(self, now: int, index: int, polarity: int) -> None:
        if index in self.released:
            self._look_at_gap(now, index, polarity)
        self.powered[index] = polarity, now
        self._draw(index, 1)
        self.feels.append((now, index, START_THROWN if polarity == FORWARD else START_REST))
        heapq.heappush(self.heap, self._long(index, now))
        self._log_coil(now, index, polarity)

    def _look_at_gap(self, now: int, index: int, polarity: int) -> None:
        before, until = self.released[index]
        actuator = self.harness.actuators[index]
        gap = now - until
        grace = gap + self.harness.tolerance_us
        if before != polarity and grace < actuator.drive.dead_us:
            kind, least = FaultKind.DEAD_TIME, actuator.drive.dead_us
            rule = "the dead time of its drive is"
        elif grace < self.harness.gaps[index]:
            kind, least = FaultKind.PULSE_TOO_SOON, self.harness.gaps[index]
            rule = f"coil {actuator.coil.name} needs"
        else:
            return
        what = (
            f"{actuator.name} is pulsed {milliseconds(gap)} after its last pulse; "
            f"{rule} {milliseconds(least)}"
        )
        self._fault(kind, now, what, actuator.name)

    def _long(self, index: int, since: int) -> tuple[int, int, int, int]:
        longest = self.harness.actuators[index].coil.longest_us
        return since + longest + self.harness.tolerance_us + 1, LONG, index, since

    def _look_at_length(self, index: int, since: int) -> None:
        if self.powered.get(index, (OFF, None))[1] != since:
            return
        actuator = self.harness.actuators[index]
        longest = actuator.coil.longest_us
        what = (
            f"{actuator.name} is still powered {milliseconds(longest)} after its pulse began, "
            f"the longest that coil {actuator.coil.name} bears"
        )
        self._fault(FaultKind.PULSE_TOO_LONG, since + longest, what, actuator.name)

    def _draw(self, index: int, sign: int) -> None:
        current = self.harness.actuators[index].coil.current_ua
        self.drawn_ua[self.harness.supply_of[index]] += sign * current

    def _overloaded(self) -> set[int]:
        supplies = self.harness.supplies
        return {n for n, drawn in enumerate(self.drawn_ua) if drawn > supplies[n].usable_ua}

    def _look_at_supply(self, number: int, since: int) -> None:
        drawn, supply = self.drawn_ua[number], self.harness.supplies[number]
        if drawn > supply.usable_ua:
            what = f"the coils draw {amperes(drawn)}; {_bounds(supply)}"
            self._fault(FaultKind.OVERLOAD, since, what)

    def _is_loaded(self, output: int) -> bool:
        line = self.harness.lines[output]
        if not line.must_move_unloaded:
            return False
        if line.drive.switch is not None:
            return bool(self.closed >> line.drive.switch & 1)
        return any(index in self.powered for index in line.actuators)

    def _look_at_contact(self, output: int, since: int) -> None:
        if output not in self.carrying:
            return
        line = self.harness.lines[output]
        if line.drive.switch is not None:
            kind, why = FaultKind.SWITCHED_UNDER_LOAD, "the pulse switch is on"
        else:
            kind, why = FaultKind.REVERSED_UNDER_LOAD, f"{self._first_powered(output)} is powered"
        self._fault(kind, since, f"the contact of {line.name} moves while {why}")

    def _first_powered(self, output: int) -> str:
        index = next(i for i in self.harness.lines[output].actuators if i in self.powered)
        return self.harness.actuators[index].name

    def _doubt(self, now: int, what: int, subject: int) -> None:
        """Look again when it has lasted for longer than the tolerance."""
        heapq.heappush(self.heap, (now + self.harness.tolerance_us + 1, what, subject, now))

    def _fault(self, kind: FaultKind, at_us: int, what: str, actuator: str = "") -> None:
        self.faults.append(Fault(kind, at_us, "", what, actuator))

    def _log_coil(self, now: int, index: int, polarity: int) -> None:
        if self.logs:
            name = self.harness.actuators[index].name
            self.events.append(Event(now, "coil", name, index, COIL_STATES[polarity]))

    def _lasting(self, length: int) -> ElectricState:
        gaps = self.harness.gaps
        return ElectricState(
            self.active,
            self.closed,
            tuple(sorted((output, due - length) for output, due in self.arrivals.items())),
            tuple(sorted((i, sign, at - length) for i, (sign, at) in self.powered.items())),
            tuple(
                sorted(
                    (i, sign, until - length)
                    for i, (sign, until) in self.released.items()
                    if until + gaps[i] > length
                )
            ),
            tuple(sorted(self.carrying)),
            tuple(
                (due - length, what, subject, since - length)
                for due, what, subject, since in sorted(self.heap)
                if what in (OVERLOAD, CARRYING)
            ),
        )


def _bounds(supply: Supply) -> str:
    return (
        f"supply {supply.name} gives {amperes(supply.usable_ua)} "
        f"with its margin, {amperes(supply.limit_ua)} without"
    )
