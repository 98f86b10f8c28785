"""The distances of one tick at tolerances some times as large, with its events in their order.

Whatever waits for something in the tick as it is scheduled goes on to wait for it: by the rules, on
the same supply, in the same channel. So the starts are the longest ways through these waits, and
whether a factor fits is whether the longest of all ends in time. Starts are counted by outputs, so
that waits at different factors fit together.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import combinations
from typing import NamedTuple

from seqc.machine.wiring import Actuator
from seqc.schedule.builder import MINIMUM_OFF, Builder, Change
from seqc.schedule.effects import bounding
from seqc.schedule.problem import NONE, Problem
from seqc.schedule.pulses import Pulse, in_order
from seqc.schedule.scaling import ONE, Scaling
from seqc.schedule.tick import Tick
from seqc.schedule.topology import Topology
from seqc.solver.plan import FramePlan

Order = tuple[int, int, str]
"""A task, one that waits for it, and what they share."""

SUPPLY, CHANNEL, TOGETHER = "supply", "channel", "together"


class Wait(NamedTuple):
    """`after` starts `lag_us` after `before` or later.

    `holds` tells whether that depends on how long outputs are active, or on the rest of the drive.
    """

    before: int
    after: int
    lag_us: int
    cause: str
    holds: bool = False


@dataclass(frozen=True)
class Widening:
    """One tick of a machine, to be widened: its change, and the load of the next frame.

    `scaling` has the machine at every factor.
    """

    scaling: Scaling
    change: FramePlan
    load: FramePlan | None
    tick: Tick
    _known: dict[int, list[Wait]] = field(default_factory=dict, init=False)

    @cached_property
    def end(self) -> int:
        """The number of the end of the tick, after all tasks."""
        return len(self._built(ONE)[0].tasks)

    @cached_property
    def _pulses(self) -> Mapping[int, Pulse]:
        """The pulses as they are scheduled, by task."""
        return self.by_task(self.tick)

    def by_task(self, tick: Tick) -> Mapping[int, Pulse]:
        """The pulses of a tick that has the same tasks, those of each coil in the same order."""
        builder = self._built(ONE)[0]
        waiting: dict[int, list[int]] = {}
        for task, (actuator, _) in builder.pulses.items():
            waiting.setdefault(actuator.index, []).append(task)
        return {waiting[pulse.actuator.index].pop(0): pulse for pulse in tick.pulses}

    @cached_property
    def orders(self) -> tuple[Order, ...]:
        """Which pulses wait for each other by what they share, and which coincide."""
        problem = self._built(ONE)[0].problem()
        return (*self._on_supplies(problem), *self._in_channels(problem))

    def _on_supplies(self, problem: Problem) -> Iterator[Order]:
        """Those that don't overlap, the nearest of each: the others follow from these.

        Pulses each two of which overlap share an instant (Helly), so the supply bears them.
        """
        for supply, capacity in enumerate(problem.capacities_ua):
            mine = [n for n in self._pulses if problem.tasks[n].supply == supply]
            if sum(problem.tasks[n].demand_ua for n in mine) <= capacity:
                continue
            for task in mine:
                start = self._pulses[task].start_us
                before = [n for n in mine if self._pulses[n].end_us <= start]
                last = max((self._pulses[n].start_us for n in before), default=0)
                yield from ((n, task, SUPPLY) for n in before if self._pulses[n].end_us > last)

    def _in_channels(self, problem: Problem) -> Iterator[Order]:
        shared = [n for n in self._pulses if problem.tasks[n].channel != NONE]
        shared.sort(key=lambda n: (self._pulses[n].start_us, n))
        for one, two in combinations(shared, 2):
            if problem.tasks[one].channel != problem.tasks[two].channel:
                continue
            alike = self._pulses[one].start_us == self._pulses[two].start_us
            if alike and problem.may_coincide(one, two):
                yield one, two, TOGETHER
            elif problem.apart_us(one, two) is not None:
                yield one, two, CHANNEL

    @cached_property
    def together(self) -> tuple[frozenset[int], ...]:
        """The pulses that one switch makes, which are equally long."""
        groups: list[frozenset[int]] = []
        for one, two, what in self.orders:
            if what == TOGETHER:
                met = [group for group in groups if {one, two} & group]
                groups = [group for group in groups if group not in met]
                groups.append(frozenset({one, two}).union(*met))
        return tuple(groups)

    def _built(self, factor: int) -> tuple[Builder, Change]:
        if factor == ONE:
            return self._declared
        return self._build(factor)

    @cached_property
    def _declared(self) -> tuple[Builder, Change]:
        return self._build(ONE)

    def _build(self, factor: int) -> tuple[Builder, Change]:
        builder = Builder(self.scaling.at(factor))
        change = builder.change(self.change)
        if self.load is not None:
            builder.load(self.load)
        return builder, change

    def waits(self, factor: int) -> list[Wait]:
        """All waits at a factor, always in the same order."""
        if factor not in self._known:
            self._known[factor] = self._waits(factor)
        return self._known[factor]

    def _waits(self, factor: int) -> list[Wait]:
        builder, change = self._built(factor)
        least = [0] * (self.end + 1)
        for task, (actuator, _) in builder.pulses.items():
            least[task] = actuator.drive.starts.least_us
        found = [
            Wait(arc.before, arc.after, arc.lag_us, arc.cause, arc.cause.endswith(MINIMUM_OFF))
            for arc in builder.arcs
        ]
        found += self._shared(builder.problem())
        found += self._ends(builder, change, factor)
        return [
            wait._replace(lag_us=wait.lag_us + least[wait.before] - least[wait.after])
            for wait in found
        ]

    def _shared(self, problem: Problem) -> Iterator[Wait]:
        for one, two, what in self.orders:
            if what == SUPPLY:
                name = problem.supplies[problem.tasks[one].supply]
                yield Wait(
                    one, two, problem.tasks[one].length_us, f"supply limit of {name}", holds=True
                )
                continue
            name = problem.channels[problem.tasks[one].channel].name
            apart_us = 0 if what == TOGETHER else problem.apart_us(one, two) or 0
            yield Wait(one, two, apart_us, name, holds=True)
            if what == TOGETHER:
                yield Wait(two, one, 0, name, holds=True)

    def _ends(self, builder: Builder, change: Change, factor: int) -> Iterator[Wait]:
        """What must be over before the next tick: all that pulses bound, and what is to be seen."""
        topology = builder.topology
        over_us = topology.durations.drift_us + self.scaling.shift_us(factor)
        channels = {channel.name for channel in builder.problem().channels}
        for task, (actuator, position) in builder.pulses.items():
            pulse = topology.durations.pulse(actuator, position, 0)
            lag_us, cause = max(bounding(topology, pulse))
            held = cause.endswith(MINIMUM_OFF) or cause in channels
            yield Wait(task, self.end, lag_us + over_us, cause, held)
        if change.roots:
            lead_us = self.scaling.lead_at(self.scaling.further(factor))
            lag_us = lead_us + topology.durations.drift_us
            yield Wait(change.seen, self.end, lag_us, "last frame seen")

    def starts(self, waits: Sequence[Wait], limit_us: int) -> list[int] | None:
        """The earliest starts under all waits; None where the end comes after the limit.

        Neither are there any where waits go round in a circle that takes time.
        """
        return self._settled(waits, limit_us)[0]

    def critical(self, waits: Sequence[Wait], limit_us: int) -> list[int]:
        """The numbers of waits that can't all be kept: the longest chain to the end or a circle."""
        _, causes, last = self._settled(waits, limit_us)
        found: list[int] = []
        met: dict[int, int] = {}
        while last in causes and last not in met:
            met[last] = len(found)
            found.append(causes[last])
            last = waits[causes[last]].before
        return found[met.get(last, 0) :]

    def _settled(
        self, waits: Sequence[Wait], limit_us: int
    ) -> tuple[list[int] | None, dict[int, int], int]:
        """The starts, what made each as late as it is, and the task that was last put off."""
        found = [0] * (self.end + 1)
        for task, (actuator, _) in self._built(ONE)[0].pulses.items():
            found[task] = -actuator.drive.starts.least_us
        causes: dict[int, int] = {}
        for _ in range(self.end + 1):
            last = NONE
            for number in self._in_time:
                before, after, lag_us, _, _ = waits[number]
                if found[before] + lag_us > found[after]:
                    found[after] = found[before] + lag_us
                    causes[after] = number
                    last = after
            if found[self.end] > limit_us:
                return None, causes, self.end
            if last == NONE:
                return found, causes, self.end
        return None, causes, last

    @cached_property
    def _in_time(self) -> list[int]:
        """The numbers of the waits, by when what they wait for happens: few need a second look."""
        waits = self.waits(ONE)
        starts = [0] * (self.end + 1)
        for task, pulse in self._pulses.items():
            starts[task] = pulse.start_us
        for wait in waits:
            if wait.after not in self._pulses:
                starts[wait.after] = max(starts[wait.after], starts[wait.before] + wait.lag_us)
        return sorted(range(len(waits)), key=lambda number: starts[waits[number].before])

    def widened(self, starts: Sequence[int], factors: Mapping[int, int]) -> Tick:
        """The tick with these starts, the pulse of each task as long as its factor asks."""
        pulses = []
        for task, pulse in self._pulses.items():
            topology = self.scaling.at(factors[task])
            widened = topology.machine.actuators[pulse.actuator.index]
            hold_us = topology.times(widened).hold_us
            on_us = starts[task]
            pulses.append(self._as_declared(pulse, on_us, hold_us, widened, topology))
        seen_us = starts[self._built(ONE)[1].seen]
        return replace(
            self.tick, pulses=in_order(pulses), seen_us=seen_us, quiet_us=starts[self.end]
        )

    def _as_declared(
        self, pulse: Pulse, on_us: int, hold_us: int, widened: Actuator, topology: Topology
    ) -> Pulse:
        """A pulse whose output is held so, from its earliest start to its latest end."""
        actuator = self.scaling.machine.actuators[pulse.actuator.index]
        times = self.scaling.declared.of(actuator)
        return replace(
            pulse,
            actuator=actuator,
            start_us=on_us + actuator.drive.starts.least_us,
            length_us=times.length_us - times.hold_us + hold_us,
            hold_us=hold_us,
            clock=topology.durations.clock.fine,
            widened=widened,
        )
