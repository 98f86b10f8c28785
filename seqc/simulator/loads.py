"""What overlaps in time and must not: more current than a supply gives, contacts that move loaded.

Each pulse, closed contact and motion of a contact is a stretch of time. Where pieces have bounds a
stretch goes from the earliest time at which it may begin to the latest at which it may end.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from enum import IntEnum
from typing import NamedTuple

from seqc.machine.electrics import Supply
from seqc.simulator.agenda import Notes
from seqc.simulator.faults import FaultKind, amperes
from seqc.simulator.lines import Harness, Line

FOREVER = 1 << 62


class Kind(IntEnum):
    """What lasts: the current in an actuator's coil or a relay's, a contact closed or moving."""

    POWER = 0
    RELAY = 1
    CLOSED = 2
    TRAVEL = 3


class Stretch(NamedTuple):
    """From when to when something lasts; `told` once all that overlaps its start has been."""

    kind: Kind
    subject: int
    start: int
    end: int
    told: bool


class Loads:
    """The stretches of one table, and those of the tables before it that may still overlap them."""

    def __init__(self, harness: Harness, tails: Iterable[Stretch]) -> None:
        self.harness = harness
        self.ended: list[Stretch] = []
        self.lasting: dict[tuple[Kind, int], Stretch] = {}
        for tail in tails:
            self._keep(tail)

    def _keep(self, stretch: Stretch) -> None:
        if stretch.end == FOREVER:
            self.lasting[stretch.kind, stretch.subject] = stretch
        else:
            self.ended.append(stretch)

    def begin(self, kind: Kind, subject: int, at_us: int) -> None:
        """Something begins, or may have begun a while before."""
        self._keep(Stretch(kind, subject, at_us, FOREVER, told=False))

    def end(self, kind: Kind, subject: int, at_us: int) -> None:
        """It ends, or may do so until then."""
        stretch = self.lasting.pop((kind, subject), None)
        if stretch:
            self.ended.append(stretch._replace(end=at_us))

    def travel(self, output: int, start: int, end: int) -> None:
        """A contact is on its way for a while, or for longer if it is called back meanwhile."""
        for rank, stretch in enumerate(self.ended):
            if stretch[:2] == (Kind.TRAVEL, output) and stretch.end > start:
                self.ended[rank] = stretch._replace(end=max(end, stretch.end))
                return
        self.ended.append(Stretch(Kind.TRAVEL, output, start, end, told=False))

    def tails(self, length: int) -> tuple[Stretch, ...]:
        """What may still overlap what the next table does, counted from its start."""
        since = length - self.harness.most_early_us - self.harness.tolerance_us
        kept = [stretch for stretch in self._all() if stretch.end > since]
        return tuple(
            Stretch(
                kind,
                subject,
                start - length,
                end if end == FOREVER else end - length,
                told or start + self.harness.tolerance_us < length,
            )
            for kind, subject, start, end, told in kept
        )

    def judge(self, length: int, notes: Notes) -> None:
        """Note every overlap that begins in time to be told before the end of the table."""
        stretches = self._all()
        if all(stretch.told for stretch in stretches):
            return
        for number, supply in enumerate(self.harness.supplies):
            own = [stretch for stretch in stretches if self._fed_by(stretch) == number]
            for at_us, drawn in self._overloads(own, supply, length):
                what = f"the coils draw {amperes(drawn)}; {_bounds(supply)}"
                notes.fault(FaultKind.OVERLOAD, at_us, what)
        self._judge_contacts(stretches, length, notes)

    def _all(self) -> list[Stretch]:
        return sorted((*self.ended, *self.lasting.values()))

    def _fed_by(self, stretch: Stretch) -> int | None:
        """The number of the supply from which a stretch draws current."""
        if stretch.kind is Kind.POWER:
            return self.harness.supply_of[stretch.subject]
        if stretch.kind is Kind.RELAY:
            return self.harness.relay_draws[stretch.subject][0]
        return None

    def _draws_ua(self, stretch: Stretch) -> int:
        if stretch.kind is Kind.RELAY:
            return self.harness.relay_draws[stretch.subject][1]
        return self.harness.current_ua[stretch.subject]

    def _overloads(
        self, power: Sequence[Stretch], supply: Supply, length: int
    ) -> Iterator[tuple[int, int]]:
        """When a supply begins to be overloaded, and what is drawn then."""
        draws = [self._draws_ua(stretch) for stretch in power]
        if sum(draws) <= supply.usable_ua:
            return
        active: set[int] = set()
        since: tuple[int, int, bool] | None = None
        for at_us, starting, ending in _edges(power):
            active = (active - ending) | starting
            drawn = sum(draws[rank] for rank in active)
            if drawn <= supply.usable_ua:
                if since and since[2] and self._in_time(since[0], at_us, length):
                    yield since[:2]
                since = None
            elif since is None:
                since = at_us, drawn, any(not power[rank].told for rank in active)

    def _judge_contacts(self, stretches: Sequence[Stretch], length: int, notes: Notes) -> None:
        by_subject: dict[tuple[Kind, int], list[Stretch]] = {}
        for stretch in stretches:
            by_subject.setdefault(stretch[:2], []).append(stretch)
        for (kind, output), travels in by_subject.items():
            if kind is not Kind.TRAVEL:
                continue
            line = self.harness.lines[output]
            load = Kind.POWER if line.drive.switch is None else Kind.CLOSED
            subjects = line.actuators if line.drive.switch is None else (line.drive.switch,)
            borne = [s for subject in subjects for s in by_subject.get((load, subject), ())]
            for travel in travels:
                found = self._first_overlap(travel, borne, length)
                if found:
                    self._note_travel(line, found[1], found[0], notes)
        if self.harness.has_bounds:
            self._judge_pairs(by_subject, length, notes)

    def _note_travel(self, line: Line, load: Stretch, at_us: int, notes: Notes) -> None:
        kind, why = FaultKind.SWITCHED_UNDER_LOAD, "the pulse switch is on"
        if load.kind is Kind.POWER:
            kind = FaultKind.REVERSED_UNDER_LOAD
            why = f"{self.harness.actuators[load.subject].name} is powered"
        notes.fault(kind, at_us, f"the contact of {line.name} moves while {why}")

    def _judge_pairs(
        self, by_subject: dict[tuple[Kind, int], list[Stretch]], length: int, notes: Notes
    ) -> None:
        """Contacts of both polarities that some pieces would close at once."""
        pairs = [
            (actuator, pair)
            for actuator, way in zip(self.harness.actuators, self.harness.ways, strict=True)
            for pair in way.never
        ]
        for actuator, (one, other) in pairs:
            others = by_subject.get((Kind.CLOSED, other), ())
            for stretch in by_subject.get((Kind.CLOSED, one), ()):
                found = self._first_overlap(stretch, others, length)
                if found:
                    what = "contacts of both polarities may be closed at once on the coil of "
                    kind = FaultKind.BOTH_POLARITIES
                    notes.fault(kind, found[0], what + actuator.name, actuator.name)

    def _first_overlap(
        self, one: Stretch, others: Iterable[Stretch], length: int
    ) -> tuple[int, Stretch] | None:
        """Where a stretch first overlaps another, unless that has been told or is yet to be."""
        overlaps = [
            (start, other)
            for other in others
            if self._in_time(start := max(one.start, other.start), min(one.end, other.end), length)
        ]
        first = min(overlaps, default=None)
        return None if first is None or (one.told and first[1].told) else first

    def _in_time(self, start: int, end: int, length: int) -> bool:
        return (
            end - start > self.harness.tolerance_us and start + self.harness.tolerance_us < length
        )


def _edges(stretches: Sequence[Stretch]) -> Iterator[tuple[int, set[int], set[int]]]:
    """Every time at which stretches start or end, and which, by their rank."""
    found: dict[int, tuple[set[int], set[int]]] = {}
    for rank, stretch in enumerate(stretches):
        found.setdefault(stretch.start, (set(), set()))[0].add(rank)
        found.setdefault(stretch.end, (set(), set()))[1].add(rank)
    for at_us in sorted(found):
        yield at_us, *found[at_us]


def _bounds(supply: Supply) -> str:
    return (
        f"supply {supply.name} gives {amperes(supply.usable_ua)} "
        f"with its margin, {amperes(supply.limit_ua)} without"
    )
