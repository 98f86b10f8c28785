"""A machine that runs step tables, one after the other, on one line of time."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from seqc.machine.model import Machine
from seqc.machine.parts import Position
from seqc.machine.steptable import Step, StepTable
from seqc.simulator.agenda import Notes
from seqc.simulator.broken import Broken, BrokenRun
from seqc.simulator.coils import START_REST, START_THROWN, Feel
from seqc.simulator.defects import SOUND, Defects
from seqc.simulator.electric import ElectricRun, ElectricState
from seqc.simulator.faults import Event, Fault, FaultKind, milliseconds
from seqc.simulator.grid_state import GridState, at_power_on
from seqc.simulator.homing import left_over, not_at_home
from seqc.simulator.lanes import Lanes
from seqc.simulator.lines import Harness
from seqc.simulator.memory import Keyed, Memory, Outcome
from seqc.simulator.mishaps import Mishaps
from seqc.simulator.motion import GridRun
from seqc.simulator.pieces import Pieces

Picture = tuple[str | None, ...]
"""What is seen of one grid: the kind in each cell, in the order of its cells, None for nothing."""

Script = tuple[tuple[Step, ...], int]
Touch = tuple[tuple[Feel, ...], int]
Counts = tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Seen:
    """What a table leads to: the picture of each grid at its end, and the faults on the way.

    `unsure` are those that count only where the picture at its end does.
    """

    table: str
    start_us: int
    end_us: int
    pictures: Mapping[str, Picture]
    faults: tuple[Fault, ...] = ()
    events: tuple[Event, ...] = ()
    unsure: tuple[Fault, ...] = ()


@dataclass(frozen=True, slots=True)
class _Electric:
    """What a table does to the electric side; `touches` has what the parts of each grid feel."""

    after: Keyed[ElectricState]
    touches: tuple[Keyed[Touch], ...]
    faults: tuple[Fault, ...]
    events: tuple[Event, ...]
    pulses: Counts
    closings: Counts


@dataclass(frozen=True, slots=True)
class _Grid:
    """What the pulses of a table do to one grid; `taken` counts the items from the magazines."""

    after: Keyed[GridState]
    picture: Picture
    faults: tuple[Fault, ...] = ()
    events: tuple[Event, ...] = ()
    taken: tuple[tuple[str, int], ...] = ()
    unsure: tuple[Fault, ...] = ()


class _Moved(NamedTuple):
    """What a table does: to the electric side, and to each grid, None where nothing moves."""

    electric: _Electric
    grids: tuple[_Grid | None, ...]


State = tuple[Keyed[ElectricState], tuple[_Grid, ...]]


def _standing(lanes: Lanes, state: GridState) -> _Grid:
    return _Grid(Keyed(state), state.places[lanes.shown])


@dataclass
class Tally:
    """How often each pulse pattern of a table came, added up only when it is asked for."""

    uses: Counter[Counts] = field(default_factory=Counter)

    def total(self) -> Counter[int]:
        """The sum of all patterns, by number."""
        total: Counter[int] = Counter()
        for counts, times in self.uses.items():
            for number, count in counts:
                total[number] += count * times
        return total


class Simulator:
    """A machine from power-on, when no position is known and no item lies below the magazines.

    `stock`: an item's stock is counted down over the whole machine, not lane by lane, so that an
    empty magazine is a fault only where no way of sharing the stock out could have prevented it.
    `tolerance_us`: how much sooner or longer than it should a thing may be before it is a fault,
    for edges that were recorded on another clock. `log`: keep events. `pieces`: how the times of
    its pieces come out, nominal if nothing else is said. `mishaps`: what goes wrong with items.
    `defects`: what is broken, until others are switched on. Unless it `judges`, it notes no faults,
    and takes less time.
    """

    def __init__(
        self,
        machine: Machine,
        *,
        stock: bool = True,
        tolerance_us: int = 0,
        log: bool = False,
        pieces: Pieces | None = None,
        mishaps: Mishaps | None = None,
        defects: Defects = SOUND,
        judges: bool = True,
    ) -> None:
        self.machine = machine
        self.now_us = 0
        self._log = log
        self._pieces = pieces or Pieces()
        self._mishaps = mishaps
        self._tolerance_us = tolerance_us + self._pieces.rounding_us
        self._judges = judges
        self._sound = Harness(machine, self._tolerance_us, self._pieces, judges=judges)
        self._lanes = [Lanes(machine, lane, self._sound, self._pieces) for lane in machine.lanes]
        self.switch(defects)
        self._grid_of = [machine.grids.index(actuator.grid) for actuator in machine.actuators]
        counted = [item for item in machine.items if item.stock is not None and stock]
        self.left = {item.name: item.stock or 0 for item in counted}
        self.taken: Counter[str] = Counter()
        self._pulses, self._closings = Tally(), Tally()
        self._electric = Keyed(ElectricState())
        self._grids = [_standing(lanes, at_power_on(lanes)) for lanes in self._lanes]
        self._scripts: Memory[tuple[tuple[Step, ...], Keyed[Script]]] = Memory()
        self._electric_memory: Memory[_Electric] = Memory()
        self._grid_memory: Memory[_Grid] = Memory()

    def switch(self, defects: Defects) -> None:
        """Let just these things be broken from now on."""
        self._defects = defects
        self._harness = self._sound.miswired(defects.wiring)
        self._broken = [Broken(each, defects.works) for each in self._lanes]

    @property
    def state(self) -> State:
        """How the machine stands, to be taken up again; its counts aren't part of it."""
        return self._electric, tuple(self._grids)

    def take_up(self, state: State) -> None:
        """Go on from a state of this machine, whatever was broken when it came about."""
        self._electric, self._grids = state[0], [*state[1]]

    def put(self, pictures: Mapping[str, Picture], position: Position | None = None) -> None:
        """Put items into the place that is seen, grid by grid, and all parts in a position."""
        for number, lanes in enumerate(self._lanes):
            if lanes.grid.name in pictures:
                state = self._grids[number].after.value
                places = [*state.places]
                places[lanes.shown] = pictures[lanes.grid.name]
                positions = (position,) * len(state.positions)
                state = replace(state, places=tuple(places), positions=positions)
                self._grids[number] = _standing(lanes, state)

    def rest(self) -> None:
        """Wait until nothing moves any more."""
        pending = [grid.after.value.pending_us for grid in self._grids]
        length = max(self._electric.value.pending_us, *pending, 0)
        if length:
            self._run(StepTable("rest", (), length + 1), played=length + 1)

    @property
    def pictures(self) -> dict[str, Picture]:
        """What is seen now, by grid."""
        return {
            lanes.grid.name: grid.picture
            for lanes, grid in zip(self._lanes, self._grids, strict=True)
        }

    @property
    def pulses(self) -> dict[str, int]:
        """How often each actuator has been pulsed, by its name."""
        total = self._pulses.total()
        return {actuator.name: total[actuator.index] for actuator in self.machine.actuators}

    @property
    def closings(self) -> dict[int, int]:
        """How often each wired output has closed its contact (or switch), by its number."""
        total = self._closings.total()
        return {output: total[output] for output in self._harness.lines}

    def run(self, table: StepTable, at_us: int | None = None) -> Seen:
        """Run a table, at once or at a later time, until its end."""
        waited: tuple[Fault, ...] = ()
        events: tuple[Event, ...] = ()
        if at_us is not None and at_us > self.now_us:
            idle = self._run(StepTable("idle", (), at_us - self.now_us), at_us - self.now_us)
            waited, events = idle.faults, idle.events
        seen = self._run(table)
        return Seen(
            seen.table,
            seen.start_us,
            seen.end_us,
            seen.pictures,
            (*waited, *seen.faults),
            (*events, *seen.events),
            seen.unsure,
        )

    def finish(self) -> tuple[Fault, ...]:
        """After the last table: what goes wrong until all is at rest, and what is left on or open.

        Nothing may stay powered, and every gate is to be back at rest.
        """
        end = self.now_us
        rest = [grid.after.value.pending_us for grid in self._grids]
        length = max(self._electric.value.pending_us, *rest, 0) + 1
        faults = self._run(StepTable("end", (), length), played=length).faults
        left = left_over(self._harness, self._electric.value, self._grid_states())
        return (*faults, *(fault.moved(end, "end") for fault in left))

    def not_at_home(self) -> list[Fault]:
        """What keeps just any table from following at once, now that one has ended."""
        return not_at_home(self._harness, self._electric.value, self._grid_states())

    def _grid_states(self) -> list[tuple[Lanes, GridState]]:
        return [(lanes, g.after.value) for lanes, g in zip(self._lanes, self._grids, strict=True)]

    def _run(self, table: StepTable, played: int | None = None) -> Seen:
        """Run a table; `played` is how long it lasts, where no controller's clock tells."""
        start, moved = self.now_us, self._step(table, played)
        faults, events = [*moved.electric.faults], [*moved.electric.events]
        unsure: list[Fault] = []
        for after in moved.grids:
            if after is not None:
                faults += after.faults
                events += after.events
                unsure += after.unsure
        faults += _malformed(table)
        return Seen(
            table.name,
            start,
            self.now_us,
            self.pictures,
            tuple(f.moved(start, table.name) for f in sorted(faults, key=lambda f: f.at_us)),
            tuple(e.moved(start) for e in sorted(events, key=lambda e: e.at_us)),
            tuple(f.moved(start, table.name) for f in unsure),
        )

    def _step(self, table: StepTable, played: int | None = None) -> _Moved:
        """Let a table do to each side of the machine what it does."""
        script = self._script(table, played)
        electric = self._recall(
            self._electric_memory,
            (script, self._electric, self._defects.wiring),
            lambda: self._run_electric(script.value),
        )
        self._electric = electric.after
        self._pulses.uses[electric.pulses] += 1
        self._closings.uses[electric.closings] += 1
        moved: list[_Grid | None] = [None] * len(self._lanes)
        for number, touch in enumerate(electric.touches):
            past = -self._lanes[number].memory_us
            pending = self._grids[number].after.value.pending_us > past
            if touch.value[0] or pending or any(self._defects.works):
                self._grids[number] = moved[number] = self._move(number, touch)
        self.now_us += script.value[1]
        return _Moved(electric, tuple(moved))

    def _recall(
        self, memory: Memory[Outcome], key: Hashable, work_out: Callable[[], Outcome]
    ) -> Outcome:
        """What follows from a state, which steady pieces let follow again."""
        steady = self._pieces.steady and self._mishaps is None
        return memory.recall(key, work_out) if steady else work_out()

    def _script(self, table: StepTable, played: int | None) -> Keyed[Script]:
        """The steps as a key; they are kept with it, so that their id stays their own.

        Tables of a long programme share their steps where they do the same.
        """
        clock = self._pieces.played_us

        def key() -> tuple[tuple[Step, ...], Keyed[Script]]:
            steps = tuple(
                Step(clock(step.at_us), step.word)
                for step in table.steps
                if 0 <= step.at_us <= table.length_us
            )
            length = clock(table.length_us) if played is None else played
            return table.steps, Keyed((steps, length))

        return self._scripts.recall((id(table.steps), table.length_us, played), key)[1]

    def _run_electric(self, script: Script) -> _Electric:
        steps, length = script
        notes = Notes(self._log)
        run = ElectricRun(self._harness, self._electric.value, notes)
        after = run.run(steps, length)
        felt: list[list[Feel]] = [[] for _ in self._lanes]
        for feel in run.coils.feels:
            felt[self._grid_of[feel[1]]].append(feel)
        started = Counter(i for _, i, what in run.coils.feels if what in (START_REST, START_THROWN))
        return _Electric(
            Keyed(after),
            tuple(Keyed((tuple(feels), length)) for feels in felt),
            tuple(notes.faults),
            tuple(notes.events),
            tuple(sorted(started.items())),
            tuple(sorted(run.contacts.closings.items())),
        )

    def _move(self, number: int, touch: Keyed[Touch]) -> _Grid:
        before = self._grids[number].after
        outcome = self._recall(
            self._grid_memory,
            (number, touch, before, self._defects.works),
            lambda: self._run_grid(number, touch, before.value, {}),
        )
        if any(self.left.get(kind, count) < count for kind, count in outcome.taken):
            outcome = self._run_grid(number, touch, before.value, self.left)
        else:
            for kind, count in outcome.taken:
                if kind in self.left:
                    self.left[kind] -= count
        self.taken.update(dict(outcome.taken))
        return outcome

    def _run_grid(
        self, number: int, touch: Keyed[Touch], before: GridState, left: dict[str, int]
    ) -> _Grid:
        lanes = self._lanes[number]
        given = lanes, before, self._tolerance_us, left, self._log, self._mishaps, self._judges
        is_broken = any(self._defects.works) or before.is_jammed
        broken = self._broken[number]
        run = BrokenRun(*given, broken=broken) if is_broken else GridRun(*given)
        after = run.run(*touch.value)
        return _Grid(
            Keyed(after),
            after.places[lanes.shown],
            tuple(run.faults),
            tuple(run.events),
            tuple(sorted(run.taken.items())),
            tuple(run.unsure),
        )


def _malformed(table: StepTable) -> list[Fault]:
    """What is wrong with the table itself, before anything is switched."""
    faults = []
    last = 0
    for step in table.steps:
        if step.at_us < last:
            why = f"a step at {milliseconds(step.at_us)} stands after one at {milliseconds(last)}"
        elif step.at_us > table.length_us:
            why = f"a step at {milliseconds(step.at_us)} is past its end"
        else:
            last = step.at_us
            continue
        faults.append(Fault(FaultKind.BAD_TABLE, max(step.at_us, 0), "", why))
    return faults
