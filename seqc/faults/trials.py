"""What is seen of each fault: the simulator run with many of them at once that share no cell."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from seqc.faults.fault import Fault, Spot
from seqc.machine.effort import QUICK
from seqc.machine.glyphs import Frame
from seqc.machine.model import Machine
from seqc.machine.parts import Position
from seqc.machine.steptable import StepTable, TableSet
from seqc.schedule.tables import glyph_tables
from seqc.simulator import SOUND, Defects, Simulator
from seqc.simulator.lanes import UNKNOWN
from seqc.simulator.simulator import State
from seqc.solver.objective import Objective
from seqc.solver.separate import Separate

BEFORE = "="
"""The item of a cell that was there before the first frame, whatever it is; no item has this name,
since names are words."""

Tabling = Callable[[Machine, Sequence[Frame]], TableSet]
"""Makes tables of frames: home, and one for each frame that may follow any other."""

Look = tuple[str | None, ...]
"""What is seen in some cells: kinds, None for nothing there, BEFORE, or UNKNOWN for any."""


def plain_tables(machine: Machine, frames: Sequence[Frame]) -> TableSet:
    """Tables as a build lays out glyphs, each with as few passes as can be.

    Raises OutOfReachError.
    """
    separate = Separate(machine, None, Objective.PULSES, QUICK)
    return glyph_tables(machine, separate.plan_each(frames), nodes=0)


Hypothesis = tuple[Fault, ...]
"""Faults that are there together; mostly one."""


@dataclass(frozen=True)
class Batch:
    """Hypotheses that share no cell, by number, and the faults of all of them."""

    numbers: tuple[int, ...]
    faults: tuple[Fault, ...]

    def at(self, table: int) -> Defects:
        """What is broken while the table of that number is played; before the first it is -1."""
        return self._at(table if table in self._tables else -1)

    @cached_property
    def _tables(self) -> frozenset[int]:
        return frozenset(fault.table for fault in self.faults if fault.table is not None)

    @cached_property
    def _known(self) -> dict[int, Defects]:
        return {}

    def _at(self, table: int) -> Defects:
        if table not in self._known:
            here = (fault for fault in self.faults if fault.table in (None, table))
            self._known[table] = joined(here)
        return self._known[table]


def batches(hypotheses: Sequence[Hypothesis]) -> tuple[Batch, ...]:
    """Hypotheses in as few batches as first fit finds.

    Those of the wiring stand apart from others, for which the wiring needn't be run again.
    """
    found: dict[object, list[tuple[list[int], set[Spot]]]] = {}
    for number, faults in enumerate(hypotheses):
        alike = any(any(f.defects.wiring) for f in faults), {f.table for f in faults} - {None}
        footprint = footprint_of(faults)
        rows = found.setdefault(repr(alike), [])
        for numbers, taken in rows:
            if taken.isdisjoint(footprint):
                numbers.append(number)
                taken |= footprint
                break
        else:
            rows.append(([number], set(footprint)))
    return tuple(
        Batch(tuple(numbers), tuple(fault for n in numbers for fault in hypotheses[n]))
        for rows in found.values()
        for numbers, _ in rows
    )


def footprint_of(faults: Hypothesis) -> frozenset[Spot]:
    """The cells that faults together may change."""
    return frozenset().union(*(fault.footprint for fault in faults))


def joined(faults: Iterable[Fault]) -> Defects:
    """The defects of several faults at once."""
    all_of_them = SOUND
    for fault in faults:
        all_of_them = all_of_them.joined(fault.defects)
    return all_of_them


class Bench:
    """A machine on which tables are played with something broken, from power-on.

    At power-on every part is at rest, as parking leaves it, and what lies in the place that is seen
    is BEFORE, unless it is known.
    """

    def __init__(
        self,
        machine: Machine,
        home: Iterable[StepTable],
        before: Mapping[str, Look] | None = None,
        logs: bool = False,
    ) -> None:
        self.machine = machine
        self.simulator = Simulator(machine, stock=False, judges=False, log=logs)
        self._home = tuple(home)
        known = before or {}
        pictures = {
            grid.name: known.get(grid.name, (BEFORE,) * len(grid.cells)) for grid in machine.grids
        }
        self.simulator.put(pictures, Position.REST)
        self._off = self.simulator.state

    def started(self, defects: Defects) -> State:
        """The state after home."""
        self.simulator.take_up(self._off)
        self.simulator.switch(defects)
        for table in self._home:
            self.simulator.run(table)
        self.simulator.rest()
        return self.simulator.state

    def played(
        self, state: State, defects: Defects, table: StepTable
    ) -> tuple[State, dict[str, Look]]:
        """The state once a table has been played and all is at rest, and what is seen then."""
        self.simulator.take_up(state)
        self.simulator.switch(defects)
        self.simulator.run(table)
        self.simulator.rest()
        return self.simulator.state, self.simulator.pictures


def home_of(tables: TableSet) -> tuple[StepTable, ...]:
    """What is played before the first frame."""
    return (tables.home, *([tables.clear] if tables.clear else []))


class Course:
    """Hypotheses followed through a row of tables, batch by batch.

    `shown` has what is seen after each table: of the sound machine every cell, of each hypothesis
    by number the cells of its footprint, in order.
    """

    def __init__(self, bench: Bench, hypotheses: Sequence[Hypothesis]) -> None:
        self.bench, self.hypotheses = bench, hypotheses
        self.spots = [sorted(footprint_of(faults)) for faults in hypotheses]
        self.batches = batches(hypotheses)
        self._states = [bench.started(batch.at(-1)) for batch in self.batches]
        self._sound = bench.started(SOUND)
        self.sound: list[dict[str, Look]] = []
        self.shown: list[list[Look]] = []
        self._sound_words: dict[tuple[Spot, int], Look] = {}

    def play(self, table: StepTable) -> None:
        """Play the next table on all of them."""
        rank = len(self.shown)
        self._sound, pictures = self.bench.played(self._sound, SOUND, table)
        self.sound.append(pictures)
        looks: list[Look] = [()] * len(self.hypotheses)
        for number, batch in enumerate(self.batches):
            state, seen = self.bench.played(self._states[number], batch.at(rank), table)
            self._states[number] = state
            for each in batch.numbers:
                looks[each] = tuple(seen[grid][cell] for grid, cell in self.spots[each])
        self.shown.append(looks)

    def beside(self, hypotheses: Sequence[Hypothesis]) -> Course:
        """Other hypotheses, which have looked as the sound machine until now and stand as it."""
        other = self.forked()
        other.hypotheses = hypotheses
        other.spots = [sorted(footprint_of(faults)) for faults in hypotheses]
        other.batches = batches(hypotheses)
        other._states = [self._sound] * len(other.batches)
        other.shown = [
            [tuple(pictures[grid][cell] for grid, cell in spots) for spots in other.spots]
            for pictures in self.sound
        ]
        return other

    def forked(self) -> Course:
        """The same hypotheses as they stand now, to be followed on another way."""
        other = copy.copy(self)
        other._states, other._sound_words = [*self._states], {}
        other.sound, other.shown = [*self.sound], [*self.shown]
        return other

    def sound_word(self, spot: Spot) -> Look:
        """What the sound machine shows in a cell, table by table."""
        key = spot, len(self.sound)
        if key not in self._sound_words:
            grid, cell = spot
            self._sound_words[key] = tuple(pictures[grid][cell] for pictures in self.sound)
        return self._sound_words[key]

    def words(self, number: int) -> Iterator[tuple[Spot, Look, Look]]:
        """Of each cell of a hypothesis what is seen table by table, and what should be."""
        mine = zip(*(looks[number] for looks in self.shown), strict=True)
        theirs = (self.sound_word(spot) for spot in self.spots[number])
        yield from zip(self.spots[number], mine, theirs, strict=True)


def is_told(mine: Look, theirs: Look) -> bool:
    """Whether a cell seen in this way can't be one seen in that way, whatever was there before."""
    kinds = {kind for kind in (*mine, *theirs) if kind not in (BEFORE, UNKNOWN)} | {None, BEFORE}
    return not any(_agree(mine, theirs, before) for before in kinds)


def _agree(mine: Look, theirs: Look, before: str | None) -> bool:
    """Whether the two are alike if that was there before; BEFORE here is any other kind."""
    return all(
        UNKNOWN in (one, other)
        or (before if one == BEFORE else one) == (before if other == BEFORE else other)
        for one, other in zip(mine, theirs, strict=True)
    )
