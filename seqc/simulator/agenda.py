"""What both sides of a run share: what falls due, and what is noted on the way."""

from __future__ import annotations

import heapq
from dataclasses import dataclass, field
from enum import IntEnum

from seqc.simulator.faults import Event, Fault, FaultKind


class Due(IntEnum):
    """What falls due in the wiring, in the order in which it is taken at one instant.

    First what is to be looked at as it stood before the instant, then words, then contacts.
    """

    LENGTH = 0
    WORD = 1
    CONTACT = 2


Entry = tuple[int, Due, int, int]
"""When, what, of which output or actuator, and a word or the time that it is about."""


@dataclass
class Agenda:
    """What falls due, earliest first; times count from the start of the table that runs."""

    heap: list[Entry] = field(default_factory=list)

    def add(self, entry: Entry) -> None:
        """Let something fall due."""
        heapq.heappush(self.heap, entry)

    def next_before(self, end_us: int) -> int | None:
        """The next time at which something falls due, if it is before the end."""
        return self.heap[0][0] if self.heap and self.heap[0][0] < end_us else None

    def take(self, now: int) -> Entry | None:
        """The next thing that falls due at this very time."""
        return heapq.heappop(self.heap) if self.heap and self.heap[0][0] == now else None


@dataclass
class Notes:
    """Faults and, where they are asked for, events."""

    wants_events: bool = False
    faults: list[Fault] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)

    def fault(
        self, kind: FaultKind, at_us: int, what: str, actuator: str = "", by_us: int = 0
    ) -> None:
        """Note what goes wrong in the wiring."""
        self.faults.append(Fault(kind, at_us, "", what, actuator, by_us=by_us))

    def event(self, at_us: int, what: str, name: str, number: int, state: str) -> None:
        """Note what happens."""
        if self.wants_events:
            self.events.append(Event(at_us, what, name, number, state))
