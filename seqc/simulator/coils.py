"""From contacts to pulses: the polarity of each coil, how long, how soon, and what all draw."""

from __future__ import annotations

from collections.abc import Iterable

from seqc.simulator.agenda import Agenda, Due, Entry, Notes
from seqc.simulator.faults import FaultKind, milliseconds
from seqc.simulator.lines import FORWARD, OFF, REVERSE, Harness
from seqc.simulator.loads import Kind, Loads

START_REST, START_THROWN, END, FAILED = range(4)
"""What a part feels of its coil: a pulse to rest, one to thrown, its end, its end too soon."""

Feel = tuple[int, int, int]
"""A time, the index of an actuator, and what its part feels."""

Since = tuple[int, int, int]
"""The index of an actuator, a polarity, and the time since or until which its coil has (had) it."""

WORDS = {FORWARD: "forward", REVERSE: "reverse", OFF: "off"}


class Coils:
    """The coils that are powered, and those that recover from their last pulse."""

    def __init__(
        self,
        harness: Harness,
        powered: Iterable[Since],
        released: Iterable[Since],
        agenda: Agenda,
        notes: Notes,
        loads: Loads,
    ) -> None:
        self.harness, self.agenda, self.notes = harness, agenda, notes
        self.loads = loads
        self.powered = {index: (polarity, since) for index, polarity, since in powered}
        self.released = {index: (polarity, until) for index, polarity, until in released}
        self.feels: list[Feel] = []
        for index, (_, since) in self.powered.items():
            if self._too_long(index, since)[0] >= 0:
                agenda.add(self._too_long(index, since))

    def follow(self, now: int, touched: Iterable[int], closed: int) -> None:
        """Let coils follow their contacts."""
        starting = []
        for index in touched:
            polarity = self.harness.ways[index].polarity(closed)
            if polarity == self.powered.get(index, (OFF, 0))[0]:
                continue
            if index in self.powered:
                self._end(now, index)
            if polarity:
                starting.append((index, polarity))
        for index, polarity in starting:
            self._start(now, index, polarity)

    def look_at_length(self, index: int, since: int) -> None:
        """Note a pulse that still lasts when it may no longer."""
        if self.powered.get(index, (OFF, None))[1] != since:
            return
        self._fault_long(index, since)

    def _fault_long(self, index: int, since: int, by_us: int = 0) -> None:
        actuator = self.harness.actuators[index]
        longest = actuator.coil.longest_us
        what = (
            f"{actuator.name} is still powered {milliseconds(longest)} after its pulse began, "
            f"the longest that coil {actuator.coil.name} bears"
        )
        kind = FaultKind.PULSE_TOO_LONG
        self.notes.fault(kind, since + longest, what, actuator.name, by_us)

    def recovering(self, now: int) -> list[Since]:
        """The coils that may not be pulsed again yet."""
        return [
            (index, polarity, until)
            for index, (polarity, until) in sorted(self.released.items())
            if until + self.harness.gaps[index].draw() + self.harness.slack_us(index) > now
        ]

    def _end(self, now: int, index: int) -> None:
        polarity, since = self.powered.pop(index)
        self.released[index] = polarity, now
        line = self.harness.switching[index]
        self.loads.end(Kind.POWER, index, now + line.opening.late_us)
        actuator = self.harness.actuators[index]
        failed = now - since + self.harness.tolerance_us < actuator.coil.pulse_us
        self.feels.append((now, index, FAILED if failed else END))
        self._look_at_length(now, index, since)
        self.notes.event(now, "coil", actuator.name, index, WORDS[OFF])

    def _look_at_length(self, now: int, index: int, since: int) -> None:
        """Note a pulse that is too short, or that some pieces would make too short or too long."""
        actuator, line = self.harness.actuators[index], self.harness.switching[index]
        coil, tolerance = actuator.coil, self.harness.tolerance_us
        shortest = now - since - line.closing.late_us - line.opening.early_us
        if shortest + tolerance < coil.pulse_us:
            what = (
                f"the pulse of {actuator.name} is {milliseconds(shortest)} long and may not "
                f"latch; coil {coil.name} needs {milliseconds(coil.pulse_us)}"
            )
            by_us = coil.pulse_us - shortest
            self.notes.fault(FaultKind.PULSE_TOO_SHORT, now, what, actuator.name, by_us)
        longest = now - since + line.closing.early_us + line.opening.late_us
        if now - since <= coil.longest_us + tolerance < longest:
            self._fault_long(index, since, longest - coil.longest_us)

    def _start(self, now: int, index: int, polarity: int) -> None:
        if index in self.released:
            self._look_at_gap(now, index, polarity)
        self.powered[index] = polarity, now
        early_us = self.harness.switching[index].closing.early_us
        self.loads.begin(Kind.POWER, index, now - early_us)
        self.feels.append((now, index, START_THROWN if polarity == FORWARD else START_REST))
        self.agenda.add(self._too_long(index, now))
        name = self.harness.actuators[index].name
        self.notes.event(now, "coil", name, index, WORDS[polarity])

    def _look_at_gap(self, now: int, index: int, polarity: int) -> None:
        before, until = self.released[index]
        actuator = self.harness.actuators[index]
        gap = self.harness.gaps[index]
        apart = now - until - self.harness.slack_us(index) + gap.late_us
        grace = apart + self.harness.tolerance_us
        if before != polarity and grace < actuator.drive.dead_us:
            kind, least = FaultKind.DEAD_TIME, actuator.drive.dead_us
            rule = "the dead time of its drive is"
        elif grace < (least := gap.draw() + gap.late_us):
            kind = FaultKind.PULSE_TOO_SOON
            rule = f"coil {actuator.coil.name} needs"
        else:
            return
        what = (
            f"{actuator.name} is pulsed {milliseconds(apart)} after its last pulse; "
            f"{rule} {milliseconds(least)}"
        )
        self.notes.fault(kind, now, what, actuator.name, least - apart)

    def _too_long(self, index: int, since: int) -> Entry:
        longest = self.harness.actuators[index].coil.longest_us
        return since + longest + self.harness.tolerance_us + 1, Due.LENGTH, index, since
