"""From contacts to pulses: the polarity of each coil, how long, how soon, and what all draw."""

from __future__ import annotations

from collections.abc import Iterable

from seqc.machine.electrics import Supply
from seqc.simulator.agenda import Agenda, Due, Entry, Notes
from seqc.simulator.faults import FaultKind, amperes, milliseconds
from seqc.simulator.lines import FORWARD, OFF, REVERSE, Harness

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
    ) -> None:
        self.harness, self.agenda, self.notes = harness, agenda, notes
        self.powered = {index: (polarity, since) for index, polarity, since in powered}
        self.released = {index: (polarity, until) for index, polarity, until in released}
        self.feels: list[Feel] = []
        self._drawn_ua = [0] * len(harness.supplies)
        for index, (_, since) in self.powered.items():
            self._draw(index, 1)
            if self._too_long(index, since)[0] >= 0:
                agenda.add(self._too_long(index, since))

    def follow(self, now: int, touched: Iterable[int], closed: int) -> list[int]:
        """Let coils follow their contacts; give the supplies that are overloaded from now on."""
        before = self._overloaded()
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
        return sorted(self._overloaded() - before)

    def look_at_length(self, index: int, since: int) -> None:
        """Note a pulse that still lasts when it may no longer."""
        if self.powered.get(index, (OFF, None))[1] != since:
            return
        actuator = self.harness.actuators[index]
        longest = actuator.coil.longest_us
        what = (
            f"{actuator.name} is still powered {milliseconds(longest)} after its pulse began, "
            f"the longest that coil {actuator.coil.name} bears"
        )
        self.notes.fault(FaultKind.PULSE_TOO_LONG, since + longest, what, actuator.name)

    def look_at_supply(self, number: int, since: int) -> None:
        """Note a supply that is still overloaded."""
        if number in self._overloaded():
            drawn, supply = self._drawn_ua[number], self.harness.supplies[number]
            what = f"the coils draw {amperes(drawn)}; {_bounds(supply)}"
            self.notes.fault(FaultKind.OVERLOAD, since, what)

    def recovering(self, now: int) -> list[Since]:
        """The coils that may not be pulsed again yet."""
        return [
            (index, polarity, until)
            for index, (polarity, until) in sorted(self.released.items())
            if until + self.harness.gaps[index] > now
        ]

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
            self.notes.fault(FaultKind.PULSE_TOO_SHORT, now, what, actuator.name)
        self.notes.event(now, "coil", actuator.name, index, WORDS[OFF])

    def _start(self, now: int, index: int, polarity: int) -> None:
        if index in self.released:
            self._look_at_gap(now, index, polarity)
        self.powered[index] = polarity, now
        self._draw(index, 1)
        self.feels.append((now, index, START_THROWN if polarity == FORWARD else START_REST))
        self.agenda.add(self._too_long(index, now))
        name = self.harness.actuators[index].name
        self.notes.event(now, "coil", name, index, WORDS[polarity])

    def _look_at_gap(self, now: int, index: int, polarity: int) -> None:
        before, until = self.released[index]
        actuator = self.harness.actuators[index]
        grace = now - until + self.harness.tolerance_us
        if before != polarity and grace < actuator.drive.dead_us:
            kind, least = FaultKind.DEAD_TIME, actuator.drive.dead_us
            rule = "the dead time of its drive is"
        elif grace < self.harness.gaps[index]:
            kind, least = FaultKind.PULSE_TOO_SOON, self.harness.gaps[index]
            rule = f"coil {actuator.coil.name} needs"
        else:
            return
        what = (
            f"{actuator.name} is pulsed {milliseconds(now - until)} after its last pulse; "
            f"{rule} {milliseconds(least)}"
        )
        self.notes.fault(kind, now, what, actuator.name)

    def _too_long(self, index: int, since: int) -> Entry:
        longest = self.harness.actuators[index].coil.longest_us
        return since + longest + self.harness.tolerance_us + 1, Due.LENGTH, index, since

    def _draw(self, index: int, sign: int) -> None:
        self._drawn_ua[self.harness.supply_of[index]] += sign * self.harness.current_ua[index]

    def _overloaded(self) -> set[int]:
        supplies = self.harness.supplies
        return {n for n, drawn in enumerate(self._drawn_ua) if drawn > supplies[n].usable_ua}


def _bounds(supply: Supply) -> str:
    return (
        f"supply {supply.name} gives {amperes(supply.usable_ua)} "
        f"with its margin, {amperes(supply.limit_ua)} without"
    )
