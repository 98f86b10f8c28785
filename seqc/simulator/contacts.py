"""From output words to contacts: each follows its output, some time later."""

from __future__ import annotations

from collections.abc import Iterable

from seqc.simulator.agenda import Agenda, Due, Notes
from seqc.simulator.faults import FaultKind
from seqc.simulator.lines import Harness, bits
from seqc.simulator.loads import Kind, Loads


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
        loads: Loads,
    ) -> None:
        self.harness, self.agenda, self.notes = harness, agenda, notes
        self.loads = loads
        wiring = harness.wiring
        self.active = active
        self.closed = (closed | wiring.welded & harness.wired) & ~wiring.parted
        self.arrivals = dict(arrivals)
        self.closings: dict[int, int] = {}
        self.flipped = [*bits(closed ^ self.closed)]
        self._risen = 0
        self._both = set(filter(self._asks_both, range(len(harness.ways))))
        for output, due in arrivals:
            agenda.add((due, Due.CONTACT, output, 0))

    def drive(self, now: int, word: int) -> None:
        """Give the outputs the levels of a word."""
        wiring = self.harness.wiring
        active = (word ^ self.harness.idle | wiring.on) & ~wiring.off
        for output in bits(active & ~self.active & ~self.harness.wired):
            what = f"output {output} is active, and nothing is wired to it"
            self.notes.fault(FaultKind.UNWIRED_OUTPUT, now, what)
        changed = (active ^ self.active) & self.harness.wired
        self.active = active
        self._risen |= changed & active
        for output in bits(changed):
            time = self.harness.lines[output].delay(active >> output & 1)
            self.arrivals[output] = due = now + time.draw()
            self.agenda.add((due, Due.CONTACT, output, 0))
            if output in self.harness.relay_draws:
                change = self.loads.begin if active >> output & 1 else self.loads.end
                change(Kind.RELAY, output, now)
            if output in self.harness.delicate:
                self.loads.travel(output, now, due + time.late_us + self._bounce_us(output))

    def _bounce_us(self, output: int) -> int:
        """How long a contact bounces once it has moved, at most."""
        relay = self.harness.lines[output].relay
        if relay is None:
            return 0
        return relay.bounce.most_us if self.harness.has_bounds else relay.bounce_us

    def arrive(self, now: int, output: int) -> None:
        """A contact gets where its output sends it, unless it has been called back."""
        if self.arrivals.get(output) != now:
            return
        del self.arrivals[output]
        on = self.active >> output & 1
        fixed = self.harness.wiring.parted | self.harness.wiring.welded
        if self.closed >> output & 1 == on or fixed >> output & 1:
            return
        self.closed ^= 1 << output
        self.flipped.append(output)
        self._risen |= on << output
        self.closings[output] = self.closings.get(output, 0) + on
        line = self.harness.lines[output]
        if on:
            self.loads.begin(Kind.CLOSED, output, now - line.closing.early_us)
        else:
            self.loads.end(Kind.CLOSED, output, now + line.opening.late_us)
        self.notes.event(now, "relay", line.name, output, "closed" if on else "open")

    def look_at_both(self, now: int) -> None:
        """Note the coils that are asked for both polarities, by outputs or by contacts, anew."""
        self._both = {index for index in self._both if self._asks_both(index)}
        for index in self.harness.fed_by(bits(self._risen)):
            if self._asks_both(index) and index not in self._both:
                self._both.add(index)
                self._fault_both(now, index)
        self._risen = 0

    def _asks_both(self, index: int) -> bool:
        way = self.harness.ways[index]
        return way.asks_both(self.active) or way.asks_both(self.closed)

    def _fault_both(self, now: int, index: int) -> None:
        name = self.harness.actuators[index].name
        asked = self.harness.ways[index].asks_both(self.active)
        state = "outputs of both polarities are active"
        state = state if asked else "contacts of both polarities are closed"
        what = f"{state} at once on the coil of {name}"
        self.notes.fault(FaultKind.BOTH_POLARITIES, now, what, name)
