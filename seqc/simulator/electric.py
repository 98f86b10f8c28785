"""The electric side of a run: words to contacts, contacts to coils.

Everything is counted from the start of the table that runs; an `ElectricState` carries what lasts
from one table to the next, and equal states with equal tables have equal outcomes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from seqc.machine.steptable import Step
from seqc.simulator.agenda import Agenda, Due, Entry, Notes
from seqc.simulator.coils import Coils, Since
from seqc.simulator.contacts import Contacts
from seqc.simulator.faults import FaultKind
from seqc.simulator.lines import Harness


@dataclass(frozen=True, slots=True)
class ElectricState:
    """Outputs and contacts as bit sets, and what still runs, in microseconds from now.

    `arrivals`: (output, when its contact gets there). `powered` and `released`: the coils that have
    current, and those that recover. `carrying`: contacts that move under load. `doubts`: what is to
    be looked at, and when. `words`: what the outputs are given now, before the next table begins.
    """

    active: int = 0
    closed: int = 0
    arrivals: tuple[tuple[int, int], ...] = ()
    powered: tuple[Since, ...] = ()
    released: tuple[Since, ...] = ()
    carrying: tuple[int, ...] = ()
    doubts: tuple[Entry, ...] = ()
    words: tuple[int, ...] = ()

    @property
    def pending_us(self) -> int:
        """When the last of what runs by itself is over."""
        dues = [due for _, due in self.arrivals] + [doubt[0] for doubt in self.doubts]
        return max(dues, default=0)


class ElectricRun:
    """One table going through the outputs, contacts and coils."""

    def __init__(self, harness: Harness, state: ElectricState, notes: Notes) -> None:
        self.harness, self.notes = harness, notes
        self.agenda = agenda = Agenda(list(state.doubts))
        self.contacts = Contacts(harness, state.active, state.closed, state.arrivals, agenda, notes)
        self.coils = Coils(harness, state.powered, state.released, agenda, notes)
        self.carrying = set(state.carrying)
        for rank, word in enumerate(state.words):
            agenda.add((0, Due.WORD, rank - len(state.words), word))

    def run(self, steps: Iterable[Step], length_us: int) -> ElectricState:
        """Apply the steps, go on until just before the end of the table, and give what lasts.

        What falls due at the very end is left to the next table, whose first word comes before it.
        """
        for rank, step in enumerate(steps):
            self.agenda.add((step.at_us, Due.WORD, rank, step.word))
        while (now := self.agenda.next_before(length_us)) is not None:
            while entry := self.agenda.take(now):
                self._meet(entry)
            self._follow(now)
        return self._lasting(length_us)

    def _meet(self, entry: Entry) -> None:
        now, what, subject, detail = entry
        match what:
            case Due.WORD:
                self.contacts.drive(now, detail)
            case Due.CONTACT:
                self.contacts.arrive(now, subject)
            case Due.LENGTH:
                self.coils.look_at_length(subject, detail)
            case Due.LOAD:
                self.coils.look_at_supply(subject, detail)
            case Due.CARRYING:
                self._look_at_contact(subject, detail)

    def _follow(self, now: int) -> None:
        """Let coils, supplies and loaded contacts follow all that moved at this instant."""
        self.contacts.look_at_both(now)
        if self.contacts.flipped:
            touched = self.harness.fed_by(self.contacts.flipped)
            self.contacts.flipped.clear()
            for supply in self.coils.follow(now, touched, self.contacts.closed):
                self._doubt(now, Due.LOAD, supply)
        if self.harness.delicate:
            self._mind_loads(now)

    def _mind_loads(self, now: int) -> None:
        travelling = self.contacts.arrivals.keys() & self.harness.delicate
        carrying = {output for output in travelling if self._is_loaded(output)}
        for output in sorted(carrying - self.carrying):
            self._doubt(now, Due.CARRYING, output)
        self.carrying = carrying

    def _doubt(self, now: int, what: Due, subject: int) -> None:
        """Look again when it has lasted for longer than the tolerance."""
        self.agenda.add((now + self.harness.tolerance_us + 1, what, subject, now))

    def _is_loaded(self, output: int) -> bool:
        line = self.harness.lines[output]
        if line.drive.switch is not None:
            return bool(self.contacts.closed >> line.drive.switch & 1)
        return any(index in self.coils.powered for index in line.actuators)

    def _look_at_contact(self, output: int, since: int) -> None:
        if output not in self.carrying:
            return
        line = self.harness.lines[output]
        if line.drive.switch is not None:
            kind, why = FaultKind.SWITCHED_UNDER_LOAD, "the pulse switch is on"
        else:
            index = next(i for i in line.actuators if i in self.coils.powered)
            kind = FaultKind.REVERSED_UNDER_LOAD
            why = f"{self.harness.actuators[index].name} is powered"
        self.notes.fault(kind, since, f"the contact of {line.name} moves while {why}")

    def _lasting(self, length: int) -> ElectricState:
        coils, contacts = self.coils, self.contacts
        rest = sorted(self.agenda.heap)
        return ElectricState(
            contacts.active,
            contacts.closed,
            tuple(sorted((output, due - length) for output, due in contacts.arrivals.items())),
            tuple(sorted((i, sign, at - length) for i, (sign, at) in coils.powered.items())),
            tuple((i, sign, until - length) for i, sign, until in coils.recovering(length)),
            tuple(sorted(self.carrying)),
            tuple(
                (due - length, what, subject, since - length)
                for due, what, subject, since in rest
                if what in (Due.LOAD, Due.CARRYING)
            ),
            tuple(word for _, what, _, word in rest if what is Due.WORD),
        )
