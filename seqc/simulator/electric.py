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
from seqc.simulator.lines import Harness
from seqc.simulator.loads import Loads, Stretch


@dataclass(frozen=True, slots=True)
class ElectricState:
    """Outputs and contacts as bit sets, and what still runs, in microseconds from now.

    `arrivals`: (output, when its contact gets there). `powered` and `released`: the coils that have
    current, and those that recover. `tails`: what may overlap what comes, and when all of that will
    have been told. `words`: what the outputs are given now, before the next table begins.
    """

    active: int = 0
    closed: int = 0
    arrivals: tuple[tuple[int, int], ...] = ()
    powered: tuple[Since, ...] = ()
    released: tuple[Since, ...] = ()
    tails: tuple[Stretch, ...] = ()
    told_us: int = 0
    words: tuple[int, ...] = ()

    @property
    def pending_us(self) -> int:
        """When the last of what runs by itself is over."""
        return max(self.told_us, *(due for _, due in self.arrivals), 0)


class ElectricRun:
    """One table going through the outputs, contacts and coils."""

    def __init__(self, harness: Harness, state: ElectricState, notes: Notes) -> None:
        self.harness, self.notes = harness, notes
        self.agenda = agenda = Agenda()
        self.loads = loads = Loads(harness, state.tails)
        self.contacts = Contacts(
            harness, state.active, state.closed, state.arrivals, agenda, notes, loads
        )
        self.coils = Coils(harness, state.powered, state.released, agenda, notes, loads)
        for rank, word in enumerate(state.words):
            agenda.add((0, Due.WORD, rank - len(state.words), word))

    def run(self, steps: Iterable[Step], length_us: int) -> ElectricState:
        """Apply the steps, go on until just before the end of the table, and give what lasts.

        What falls due at the very end is left to the next table, whose first word comes before it.
        """
        for rank, step in enumerate(steps):
            self.agenda.add((step.at_us, Due.WORD, rank, step.word))
        self._follow(0)
        while (now := self.agenda.next_before(length_us)) is not None:
            while entry := self.agenda.take(now):
                self._meet(entry)
            self._follow(now)
        if self.harness.judges:
            self.loads.judge(length_us, self.notes)
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

    def _follow(self, now: int) -> None:
        """Let coils follow all that moved at this instant."""
        if self.harness.judges:
            self.contacts.look_at_both(now)
        if self.contacts.flipped:
            touched = self.harness.fed_by(self.contacts.flipped)
            self.contacts.flipped.clear()
            self.coils.follow(now, touched, self.contacts.closed)

    def _lasting(self, length: int) -> ElectricState:
        coils, contacts = self.coils, self.contacts
        rest = sorted(self.agenda.heap)
        tails = self.loads.tails(length)
        return ElectricState(
            contacts.active,
            contacts.closed,
            tuple(sorted((output, due - length) for output, due in contacts.arrivals.items())),
            tuple(sorted((i, sign, at - length) for i, (sign, at) in coils.powered.items())),
            tuple((i, sign, until - length) for i, sign, until in coils.recovering(length)),
            tails,
            max((s.start + self.harness.tolerance_us + 1 for s in tails if not s.told), default=0),
            tuple(word for _, what, _, word in rest if what is Due.WORD),
        )
