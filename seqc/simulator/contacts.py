"""From output words to contacts: each follows its output, some time later."""

from __future__ import annotations

from collections.abc import Iterable

from seqc.simulator.agenda import Agenda, Due, Notes
from seqc.simulator.faults import FaultKind
from seqc.simulator.lines import Harness, bits


class Contacts:
    """The contacts of all outputs (those of solid-state switches follow at once).

    `active` and `closed` are bit sets of outputs. `arrivals` tells when a contact on its way gets
    where its output sends it; a contact that is called back before has never moved.
    """

    def __init__(
        self,
        harness: Harness,
        active: int,
        closed: int,
        arrivals: Iterable[tuple[int, int]],
        agenda: Agenda,
        notes: Notes,
    ) -> None:
        self.harness, self.agenda, self.notes = harness, agenda, notes
        self.active, self.closed = active, closed
        self.arrivals = dict(arrivals)
        self.closings: dict[int, int] = {}
        self.flipped: list[int] = []
        self._changed = 0
        self._both = {
            index
            for index, way in enumerate(harness.ways)
            if way.asks_both(active) or way.asks_both(closed)
        }
        for output, due in arrivals:
            agenda.add((due, Due.CONTACT, output, 0))

    def drive(self, now: int, word: int) -> None:
        """Give the outputs the levels of a word."""
        active = word ^ self.harness.idle
        for output in bits(active & ~self.active & ~self.harness.wired):
            what = f"output {output} is active, and nothing is wired to it"
            self.notes.fault(FaultKind.UNWIRED_OUTPUT, now, what)
        changed = (active ^ self.active) & self.harness.wired
        self.active = active
        self._changed |= changed
        for output in bits(changed):
            due = now + self.harness.lines[output].delay_us(active >> output & 1)
            self.arrivals[output] = due
            self.agenda.add((due, Due.CONTACT, output, 0))

    def arrive(self, now: int, output: int) -> None:
        """A contact gets where its output sends it, unless it has been called back."""
        if self.arrivals.get(output) != now:
            return
        del self.arrivals[output]
        on = self.active >> output & 1
        if self.closed >> output & 1 == on:
            return
        self.closed ^= 1 << output
        self.flipped.append(output)
        self._changed |= 1 << output
        self.closings[output] = self.closings.get(output, 0) + on
        name = self.harness.lines[output].name
        self.notes.event(now, "relay", name, output, "closed" if on else "open")

    def look_at_both(self, now: int) -> None:
        """Note the coils that are asked for both polarities, by outputs or by contacts, anew."""
        for index in self.harness.fed_by(bits(self._changed)):
            asked = self.harness.ways[index].asks_both(self.active)
            if not asked and not self.harness.ways[index].asks_both(self.closed):
                self._both.discard(index)
            elif index not in self._both:
                self._both.add(index)
                name = self.harness.actuators[index].name
                what = "outputs of both polarities are active"
                what = what if asked else "contacts of both polarities are closed"
                what = f"{what} at once on the coil of {name}"
                self.notes.fault(FaultKind.BOTH_POLARITIES, now, what, name)
        self._changed = 0
