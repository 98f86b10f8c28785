"""What happens in a long run, kept once for each different thing that a table does.

A day of a clock has 86,400 tables, but few that differ, and each does to most numerals nothing. So
a trace has *segments*, each what one table does to one side of the machine (the electric side, or
one grid) from one state on, and for each table the numbers of its segments.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Generic, NamedTuple, TypeVar

from seqc.machine.model import Machine
from seqc.machine.steptable import StepTable
from seqc.simulator.electric import ElectricState
from seqc.simulator.faults import Event
from seqc.simulator.grid_state import GridState
from seqc.simulator.simulator import Simulator

State = TypeVar("State")

SOON = 1_000
"""In so many tables of a round the machine is to be found as it was before; else it is taken so.
Parts that seldom move, such as the hours of a clock, may differ for longer."""


class Segment(NamedTuple, Generic[State]):
    """The state in which a table finds one side of the machine, and what then happens to it.

    Times count from the start of the table.
    """

    start: State
    events: tuple[Event, ...]


class Run(NamedTuple):
    """One table of a trace, and the numbers of its segments: electric, then grid by grid."""

    table: StepTable
    electric: int
    grids: tuple[int, ...]


class Trace(NamedTuple):
    """All runs in order, and the segments that they are made of; `grids` go by grid.

    After the last run comes number `recurs_at` again, None where nothing comes.
    """

    runs: tuple[Run, ...]
    electric: tuple[Segment[ElectricState], ...]
    grids: tuple[tuple[Segment[GridState], ...], ...]
    recurs_at: int | None = None


class _Kept(Generic[State]):
    """Segments by what they are made of; the objects are kept, so that each id stays its own."""

    def __init__(self) -> None:
        self.numbers: dict[tuple[int, int], int] = {}
        self.objects: list[object] = []
        self.segments: list[Segment[State]] = []

    def number(self, before: object, outcome: object, state: State, events: Iterable[Event]) -> int:
        """The number of the segment that an outcome is, which came of what was before."""
        key = id(before), id(outcome)
        if key not in self.numbers:
            self.numbers[key] = len(self.segments)
            self.objects += [before, outcome]
            self.segments.append(Segment(state, tuple(sorted(events, key=lambda e: e.at_us))))
        return self.numbers[key]


def trace(machine: Machine, tables: Iterable[StepTable], again: Sequence[StepTable] = ()) -> Trace:
    """Run tables from power-on one after the other, with nominal parts and magazines that refill.

    Equal segments are one where the simulator remembers them. `again` are the last of the tables,
    where they repeat: they go on until one finds the machine as it did before, if that is soon.
    """
    simulator = _Tracing(machine, stock=False, log=True)
    runs = [simulator.traced(table) for table in tables]
    recurs_at = len(runs) - len(again) if again else None
    further: list[Run] = []
    for before, table in enumerate(again[:SOON], len(runs) - len(again)):
        further.append(simulator.traced(table))
        if further[-1] == runs[before]:
            runs += further[:-1]
            recurs_at = before
            break
    return Trace(
        tuple(runs),
        tuple(simulator.electric_kept.segments),
        tuple(tuple(kept.segments) for kept in simulator.grids_kept),
        recurs_at,
    )


class _Tracing(Simulator):
    """A simulator whose outcomes are told apart as the objects that it remembers."""

    def __init__(self, machine: Machine, *, stock: bool, log: bool) -> None:
        super().__init__(machine, stock=stock, log=log)
        self.electric_kept: _Kept[ElectricState] = _Kept()
        self.grids_kept: list[_Kept[GridState]] = [_Kept() for _ in machine.lanes]

    def traced(self, table: StepTable) -> Run:
        """Run a table and number its segments."""
        electric, grids = self._electric, list(self._grids)
        moved = self._step(table)
        first = self.electric_kept.number(
            None, moved.electric, electric.value, moved.electric.events
        )
        numbers = [
            kept.number(
                before if after is None else None,
                after,
                before.after.value,
                () if after is None else after.events,
            )
            for kept, before, after in zip(self.grids_kept, grids, moved.grids, strict=True)
        ]
        return Run(table, first, tuple(numbers))
