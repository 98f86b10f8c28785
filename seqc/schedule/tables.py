"""Schedules laid out as step tables: one for each glyph, one for each transition, or a programme.

Pulses of a table are put off by the longest lead of any drive, so that no output changes before the
table starts and every change starts at the same offset.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from seqc.machine.glyphs import Frame
from seqc.machine.model import Machine
from seqc.machine.steptable import LONGEST_HOLD_US, Step, StepTable, TableSet, TablesFor
from seqc.schedule.cadence import end_us
from seqc.schedule.drives.rules import Span
from seqc.schedule.durations import Durations
from seqc.schedule.encode import spans_of, steps_between
from seqc.schedule.frame import FrameTiming, load_alone, time_on
from seqc.schedule.home import clear_pulses, home_pulses
from seqc.schedule.pulses import Pulse
from seqc.schedule.search import NODES
from seqc.schedule.tick import Tick
from seqc.schedule.timing import ProgrammeTiming
from seqc.schedule.topology import playable
from seqc.solver.plan import FramePlan

Shows = tuple[tuple[str, str], ...]


def glyph_tables(machine: Machine, plans: Sequence[FramePlan], nodes: int = NODES) -> TableSet:
    """One table for each frame, with its load and its change; its plan must start from anywhere.

    Each is made as short as a search of so many nodes can.
    """
    topology = playable(machine)
    return timed_glyph_tables(machine, [(plan, time_on(topology, plan, nodes)) for plan in plans])


def timed_glyph_tables(
    machine: Machine, timed: Iterable[tuple[FramePlan, FrameTiming]]
) -> TableSet:
    """One table for each frame, of plans that have been put into time."""
    tables = [_timed_table(machine, plan.frame.name, plan, timing, ()) for plan, timing in timed]
    return _table_set(machine, TablesFor.GLYPH, tables)


def transition_tables(
    machine: Machine, plans: Mapping[tuple[Frame | None, Frame], FramePlan]
) -> TableSet:
    """One table for each pair of a frame that is seen, None for any, and the frame that comes."""
    tables = [
        _whole_table(machine, f"{seen.name} to {coming.name}", plan, shows_of(seen))
        if seen
        else _whole_table(machine, f"any to {coming.name}", plan, ())
        for (seen, coming), plan in plans.items()
    ]
    return _table_set(machine, TablesFor.TRANSITION, tables)


def programme_tables(
    machine: Machine, timing: ProgrammeTiming, relaxed: Machine | None = None
) -> TableSet:
    """Table 0 loads the first frame; tick k changes to frame k and loads the next one.

    Every tick is one beat long, but the last of a programme that doesn't repeat ends quiet, with
    the last frame at rest. What comes before the first tick has time: it is made for a machine
    that is `relaxed`, whose parts vary by more.
    """
    relaxed = relaxed or machine
    plans = timing.plan.plans
    if not plans:
        return _table_set(machine, TablesFor.PROGRAMME, [])
    load = load_alone(playable(relaxed), plans[0], timing.effort.schedule_nodes)
    name = f"load {plans[0].frame.name}"
    length = max(load.reached_us, load.quiet_us)
    first = _table(relaxed, name, load.pulses, length, (), ())
    ticks, repeat_from = _ticks(machine, timing)
    again = None if repeat_from is None else repeat_from + 1
    spare_us = min(timing.spare_us, LONGEST_HOLD_US)
    return _table_set(machine, TablesFor.PROGRAMME, [first, *ticks], again, spare_us, relaxed)


def shows_of(frame: Frame) -> Shows:
    """A frame as pairs of grid and glyph name."""
    return tuple((glyph.grid, glyph.name) for glyph in frame)


def _ticks(machine: Machine, timing: ProgrammeTiming) -> tuple[list[StepTable], int | None]:
    """The tables of the ticks, and the one that comes after the last.

    An output that outlasts its table goes on in the next. So the first ticks of a round have tables
    of their own where the round before leaves them other outputs than the load does.
    """
    cutter = _Cutter(machine, timing.beat_us, timing.lead_us)
    tables: list[StepTable] = []
    entered: dict[object, int] = {}
    seen: dict[str, str] = {}
    number, ending = 0, timing.repeat_from is None
    while (state := (number, cutter.left)) not in entered:
        entered[state] = len(tables)
        after = tuple(seen.items())
        seen.update(shows_of(timing.changes[number].frame))
        last = number == len(timing.ticks) - 1
        if last and ending:
            ended_us = timing.lead_us + end_us(timing.ticks, timing.beat_us)
            length = max(ended_us, timing.beat_us)
            cutter = _Cutter(machine, length, timing.lead_us, cutter.left)
        steps = cutter.steps(timing.ticks[number])
        name = f"tick {len(tables) + 1}"
        tables.append(StepTable(name, steps, cutter.length_us, tuple(seen.items()), after))
        if last and ending:
            return tables, None
        number = (timing.repeat_from or 0) if last else number + 1
    return tables, entered[state]


class _Cutter:
    """Cuts the timeline of ticks into tables; what outlasts a table is left for the next."""

    def __init__(
        self, machine: Machine, length_us: int, lead_us: int, left: tuple[Span, ...] = ()
    ) -> None:
        self.machine = machine
        self.length_us = length_us
        self.lead_us = lead_us
        self.left = left
        self._known: dict[object, tuple[tuple[Step, ...], tuple[Span, ...]]] = {}

    def steps(self, tick: Tick) -> tuple[Step, ...]:
        """The steps of the next table."""
        key = (id(tick), self.left)
        if key not in self._known:
            later = (pulse.later(self.lead_us) for pulse in tick.pulses)
            spans = [*self.left, *spans_of(later)]
            self._known[key] = steps_between(self.machine.idle_word, spans, self.length_us)
        steps, self.left = self._known[key]
        return steps


def _whole_table(machine: Machine, name: str, plan: FramePlan, after: Shows) -> StepTable:
    return _timed_table(machine, name, plan, time_on(playable(machine), plan), after)


def _timed_table(
    machine: Machine, name: str, plan: FramePlan, timing: FrameTiming, after: Shows
) -> StepTable:
    return _table(machine, name, timing.pulses, timing.quiet_us, shows_of(plan.frame), after)


def _table(
    machine: Machine,
    name: str,
    pulses: Sequence[Pulse],
    quiet_at_us: int,
    shows: Shows,
    after: Shows,
) -> StepTable:
    """A table that ends with a quiet machine."""
    lead = playable(machine).durations.lead_us
    length = max(quiet_at_us + lead, 1)
    spans = spans_of(pulse.later(lead) for pulse in pulses)
    steps, left = steps_between(machine.idle_word, spans, length)
    assert not left, "a quiet machine has no active output"
    return StepTable(name, steps, length, shows, after)


def _table_set(
    machine: Machine,
    tables_for: TablesFor,
    tables: Sequence[StepTable],
    repeat_from: int | None = None,
    spare_us: int = 0,
    relaxed: Machine | None = None,
) -> TableSet:
    relaxed = relaxed or machine
    home = home_pulses(relaxed)
    clear = clear_pulses(relaxed)
    return TableSet(
        machine.name,
        tables_for,
        machine.width,
        machine.idle_word,
        slack_us(machine, relaxed),
        _table(relaxed, "home", home.pulses, home.quiet_us, (), ()),
        tuple(_named_apart(tables)),
        repeat_from,
        spare_us,
        _table(relaxed, "clear", clear.pulses, clear.quiet_us, (), ()) if clear.pulses else None,
    )


def slack_us(machine: Machine, relaxed: Machine | None = None) -> int:
    """How much longer than in any table a coil bears its pulse, whatever its drive's parts."""
    clock, held = Durations(machine).clock, playable(relaxed or machine).durations
    slacks = []
    for actuator in machine.actuators:
        drive = actuator.drive
        over_us = drive.stops.most_us - drive.starts.least_us
        longest_us = clock.longest_us(held.of(actuator).hold_us) + over_us
        slacks.append(actuator.coil.longest_us - longest_us)
    return min(slacks, default=0)


def _named_apart(tables: Sequence[StepTable]) -> Iterator[StepTable]:
    for table, name in zip(tables, names_apart(table.name for table in tables), strict=True):
        yield replace(table, name=name)


def names_apart(names: Iterable[str]) -> Iterator[str]:
    """Names of tables, those that came before given a number."""
    used = {"home", "clear"}
    for first in names:
        name, count = first, 1
        while name in used:
            count += 1
            name = f"{first} ({count})"
        used.add(name)
        yield name
