"""The rules of design section 4: from the passes of frames to tasks and arcs."""

from __future__ import annotations

import copy
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from seqc.machine.parts import Gate, Lane, Position
from seqc.machine.wiring import Actuator
from seqc.schedule.bounds import heads
from seqc.schedule.drives.choice import rules_of
from seqc.schedule.problem import NONE, Arc, Channel, Problem, Task
from seqc.schedule.pulses import Pulse
from seqc.schedule.topology import Topology
from seqc.solver.plan import FramePlan, GridPlan, Pass

MINIMUM_OFF = "minimum off"
"""Why a pulse waits for the last one of its coil."""

Throws = list[tuple[int, Actuator]]
"""The tasks that throw gates, and the gates."""


def task_name(actuator: Actuator, position: Position) -> str:
    """What a pulse is called."""
    return f"{actuator.name} {position.value}"


@dataclass(frozen=True, slots=True)
class Change:
    """The tasks of a change that nothing else of it precedes, and the event of its end."""

    roots: tuple[int, ...]
    seen: int


class Builder:
    """Collects the tasks of loads and changes in the order in which they happen.

    `past` are pulses that were given before time 0 and may still bound what comes.
    """

    def __init__(self, topology: Topology, past: Sequence[Pulse] = ()) -> None:
        self.topology = topology
        self.tasks: list[Task] = []
        self.arcs: list[Arc] = []
        self.pulses: dict[int, tuple[Actuator, Position]] = {}
        self.fixed: dict[int, int] = {}
        self._supplies = [supply.name for supply in topology.machine.supplies]
        self._channels: list[Channel] = []
        self._channel_of: dict[tuple[str, ...], int] = {}
        self._last: dict[int, int] = {}
        self._at_rest: dict[int, int] = {}
        self._guards: dict[int, list[tuple[int, Actuator]]] = {}
        self.past = len(past)
        self._heads: list[int] = []
        for pulse in past:
            self._remember(pulse)

    def branch(self) -> Builder:
        """A builder that goes on from here by itself; what bounds its tasks so far is kept."""
        if len(self._heads) < len(self.tasks):
            self._heads = heads(self.problem())
        other = copy.copy(self)
        other.tasks, other.arcs = list(self.tasks), list(self.arcs)
        other.pulses, other.fixed = dict(self.pulses), dict(self.fixed)
        other._channels, other._channel_of = list(self._channels), dict(self._channel_of)
        other._last, other._at_rest = dict(self._last), dict(self._at_rest)
        other._guards = {selector: list(gates) for selector, gates in self._guards.items()}
        return other

    def problem(self) -> Problem:
        """Everything collected so far."""
        return Problem(
            self.tasks,
            self.arcs,
            self.topology.capacities_ua,
            self._channels,
            self.fixed,
            self._supplies,
            self._heads,
        )

    def load(self, plan: FramePlan) -> int:
        """The passes of a frame, down to above the last transfer gates; the event of its end."""
        loads = [part for part in plan if self.topology.lane_of_grid(part.glyph.grid).transfers]
        return self.loaded((part, self.passes(part.passes)) for part in loads)

    def loaded(self, parts: Iterable[tuple[GridPlan, Throws]]) -> int:
        """The rest of a load after its passes, whose throws are given; the event of its end."""
        final = [throw for plan, throws in parts for throw in self._pass_down(plan, throws)]
        loaded = self.event("loaded")
        self._lie_still(final, loaded)
        return loaded

    def change(self, plan: FramePlan, loaded: int | None = None) -> Change:
        """The dump gates, the last transfer gates; where there are none, the passes instead."""
        first = len(self.tasks)
        landing: Throws = []
        for part in plan:
            dumped = self._dump(part.dumps)
            landing += self._drop(part, dumped)
        roots = self._roots(first)
        for root in roots if loaded is not None else ():
            self.arc(loaded or 0, root, 0, "load complete")
        seen = self.event("seen")
        self._lie_still(landing, seen)
        if loaded is not None:
            self.arc(loaded, seen, 0, "load complete")
        return Change(roots, seen)

    def pulse(self, actuator: Actuator, position: Position) -> int:
        """One pulse, after the last one of the same actuator."""
        task = self._task(actuator, position)
        last = self._last.get(actuator.index)
        if last is not None:
            next_us = self.topology.times(actuator).next_us
            self.arc(last, task, next_us, f"{actuator.part.name} {MINIMUM_OFF}")
        self._last[actuator.index] = task
        return task

    def settle_before(self, first: int, second: int, cause: str) -> None:
        """Let a pulse start only when another's part has settled."""
        self.arc(first, second, self.topology.times(self.pulses[first][0]).settled_us, cause)

    def _task(self, actuator: Actuator, position: Position) -> int:
        # A plan may be of this machine with other tolerances.
        actuator = self.topology.machine.actuators[actuator.index]
        rules, drive = rules_of(actuator.drive), actuator.drive
        times = self.topology.times(actuator)
        self.pulses[len(self.tasks)] = actuator, position
        self.tasks.append(
            Task(
                task_name(actuator, position),
                times.length_us,
                self._supplies.index(drive.supply.name),
                actuator.peak_ua,
                self._channel(actuator),
                rules.mode(position),
                times.clear_us,
                rules.batch(actuator),
            )
        )
        return len(self.tasks) - 1

    def _channel(self, actuator: Actuator) -> int:
        key = actuator.drive.parts
        if key not in self._channel_of:
            channel = rules_of(actuator.drive).channel(actuator.drive)
            self._channel_of[key] = NONE if channel is None else len(self._channels)
            self._channels += [channel.timed(self.topology.lasting)] if channel else []
        return self._channel_of[key]

    def event(self, name: str) -> int:
        """Something that takes no time and no current."""
        self.tasks.append(Task(name))
        return len(self.tasks) - 1

    def arc(self, before: int, after: int, lag_us: int, cause: str) -> None:
        """Let a task start no sooner than `lag_us` after another."""
        self.arcs.append(Arc(before, after, lag_us, cause))

    def _remember(self, pulse: Pulse) -> None:
        task = self._task(pulse.actuator, pulse.position)
        self.fixed[task] = pulse.start_us
        self._last[pulse.actuator.index] = task
        if pulse.actuator.is_gate and pulse.position is Position.REST:
            self._returned(pulse.actuator, task)

    def _returned(self, gate: Actuator, task: int) -> None:
        self._at_rest[gate.index] = task
        for selector in self.topology.selectors_above.get(gate.index, ()):
            self._guards.setdefault(selector, []).append((task, gate))

    def _select(self, selector: Actuator, position: Position) -> None:
        """A selector moves only while every gate below it is settled at rest."""
        task = self.pulse(selector, position)
        for returned, gate in self._guards.pop(selector.index, ()):
            settled_us = self.topology.times(gate).settled_us
            self.arc(returned, task, settled_us, f"{gate.part.name} back at rest")

    def _cycle(self, gate: Actuator) -> int:
        """Throw a gate and let it return; the task of the throw."""
        part = gate.part
        assert isinstance(part, Gate)
        times = self.topology.times(gate)
        throw = self.pulse(gate, Position.THROWN)
        for selector in self.topology.selectors_above.get(gate.index, ()):
            if selector in self._last:
                name = self.topology.machine.actuators[selector].part.name
                self.settle_before(self._last[selector], throw, f"{name} settling")
        if gate.index in self._at_rest:
            rest = self._at_rest[gate.index]
            self.arc(rest, throw, times.refill_us, f"{part.name} refill")
        self._find_room(gate, throw)
        back = self.pulse(gate, Position.REST)
        self.arc(throw, back, times.open_us, f"{part.name} open")
        self._returned(gate, back)
        return throw

    def _find_room(self, gate: Actuator, throw: int) -> None:
        """An item arrives only where the gates that will hold it are settled at rest."""
        settled = self.topology.times(gate).settled
        flight_us = settled.least_us + self.topology.least_fall_us(gate)
        for holder in self.topology.holding_below(gate):
            if holder.index in self._at_rest:
                held = self.topology.times(holder).settled
                lag = self.topology.lasting(held.most_us - flight_us)
                cause = f"{holder.part.name} back at rest"
                self.arc(self._at_rest[holder.index], throw, lag, cause)

    def _lie_still(self, throws: Iterable[tuple[int, Actuator]], task: int) -> None:
        """Let a task wait until what these gates let go lies still; below `shown` it is gone."""
        for throw, gate in throws:
            if self.topology.rank(gate) >= self.topology.lane_of(gate).gates_above:
                self.settle_before(self._at_rest[gate.index], task, f"{gate.part.name} at rest")
                continue
            path = self.topology.path_after(gate)
            cause = f"transit {path.source} to {path.target}"
            still_us = self.topology.times(gate).settled.most_us + path.total.most_us
            self.arc(throw, task, self.topology.lasting(still_us), cause)

    def passes(self, passes: Iterable[Pass]) -> Throws:
        """Passes of a grid, selectors before gates; the throws of the gates in order."""
        throws: Throws = []
        for step in passes:
            for selector, position in step.set:
                self._select(selector, position)
            throws += [(self._cycle(gate), gate) for gate in step.operate]
        return throws

    def _pass_down(self, plan: GridPlan, throws: Throws) -> Throws:
        """After the passes every transfer gate but the last; the throws that feed the last."""
        for stage in plan.transfers:
            if not any(self.topology.feeds_shown(gate) for gate in stage):
                throws = self.pass_on(stage, throws)
        return throws

    def pass_on(self, stage: Sequence[Actuator], throws: Throws) -> Throws:
        """Cycle gates once what they pass lies still above them; what they don't pass stays."""
        passed: Throws = []
        for gate in stage:
            throw = self._cycle(gate)
            above = [one for one in throws if not one[1].cell_set.isdisjoint(gate.cell_set)]
            self._lie_still(above, throw)
            passed.append((throw, gate))
        return passed

    def _dump(self, stages: Sequence[Sequence[Actuator]]) -> Throws:
        """Let the old set go, stage by stage; the throws of the first stage."""
        throws = [[(self._cycle(gate), gate) for gate in stage] for stage in stages[:1]]
        for stage in stages[1:]:
            throws.append(self.pass_on(stage, throws[-1]))
        return throws[0] if throws else []

    def _drop(self, plan: GridPlan, dumped: Sequence[tuple[int, Actuator]]) -> Throws:
        """Let the new set fall into the place that is seen, no sooner than the old one goes."""
        lane: Lane = self.topology.lane_of_grid(plan.glyph.grid)
        if lane.transfers:
            last = [gate for stage in plan.transfers for gate in stage]
            feeding = [gate for gate in last if self.topology.feeds_shown(gate)]
            throws = [(self._cycle(gate), gate) for gate in feeding]
        else:
            throws = self.passes(plan.passes)
        for throw, gate in throws:
            for first, dump in dumped:
                if not dump.cell_set.isdisjoint(gate.cell_set):
                    lag = self.topology.times(dump).varies_us
                    self.arc(first, throw, lag, f"{dump.part.name} goes first")
        return throws

    def _roots(self, first: int) -> tuple[int, ...]:
        """The tasks from `first` on that may start before any other of them."""
        bound = {arc.after for arc in self.arcs if arc.before >= first and arc.lag_us >= 0}
        return tuple(task for task in range(first, len(self.tasks)) if task not in bound)
