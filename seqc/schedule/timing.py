"""The time of a programme: every frame by itself, every tick in its place, and the cadence kept."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from seqc.machine.model import Machine
from seqc.schedule.builder import Builder
from seqc.schedule.chain import Link, summary
from seqc.schedule.deeds import deed_of
from seqc.schedule.effects import quiet_us, still_bounding
from seqc.schedule.frame import FrameTiming, time_frame
from seqc.schedule.pulses import Pulse
from seqc.schedule.search import EFFORT
from seqc.schedule.tick import Setting, Tick, schedule_tick
from seqc.schedule.topology import Topology
from seqc.solver.plan import FramePlan, ProgrammePlan

ROUNDS = 8
"""How often the beat is put off, since a longer one changes what ticks leave to the next."""


@dataclass(frozen=True)
class ProgrammeTiming:
    """How a programme runs in time.

    `frames` are the frames by themselves, in order, and `again` is the first one's reload in a
    repeating programme; both are scheduled when they are first asked for. Tick k makes the change
    of plan k of `changes` and loads the next. `period_us` is the longest of their periods,
    `cadence_us` what was asked for, and `beat_us` what the tables run at: the cadence, or the
    shortest beat that was found if it can't be kept.

    A repeating programme goes on with tick number `repeat_from` (from 0) after the last. Where the
    change to its first frame isn't the same in later rounds, one more tick makes it, and the
    repetition starts with the second. Between two rounds the machine is quiet.
    """

    machine: Machine
    plan: ProgrammePlan
    effort: int
    changes: tuple[FramePlan, ...]
    ticks: tuple[Tick, ...]
    repeat_from: int | None
    period_us: int
    bound_us: int
    cadence_us: int
    beat_us: int
    spare_us: int

    @cached_property
    def frames(self) -> tuple[FrameTiming, ...]:
        """The frames by themselves; those that do the same are scheduled once."""
        known: dict[object, FrameTiming] = {}
        for plan in self.plan.plans:
            if deed_of(plan) not in known:
                known[deed_of(plan)] = time_frame(self.machine, plan, self.effort)
        return tuple(known[deed_of(plan)] for plan in self.plan.plans)

    @cached_property
    def again(self) -> FrameTiming | None:
        """The first frame's reload by itself, None where the programme doesn't repeat."""
        again = self.plan.again
        return time_frame(self.machine, again, self.effort) if again else None

    @property
    def kept(self) -> bool:
        """Whether the picture changes exactly on the cadence."""
        return self.beat_us == self.cadence_us

    @property
    def proven(self) -> bool:
        """Whether no schedule of these plans has a shorter period."""
        return self.period_us == self.bound_us

    @property
    def slowest(self) -> int:
        """The number of the tick with the longest period, from 0."""
        return max(range(len(self.ticks)), key=lambda number: self.ticks[number].period_us)

    @property
    def critical_chain(self) -> tuple[Link, ...]:
        """What the longest period is made of."""
        return self.ticks[self.slowest].links if self.ticks else ()

    @property
    def limits(self) -> str:
        """What the longest period is made of, in one line."""
        return summary(self.critical_chain, self.period_us)


def time_programme(
    machine: Machine, plan: ProgrammePlan, every_us: int, effort: int = EFFORT
) -> ProgrammeTiming:
    """Schedule a programme at a cadence, or at the shortest beat above it that can be kept."""
    topology = Topology(machine)
    clock = _Clock(topology, plan, effort)
    beat_us = every_us
    ticks, least_us = clock.run(beat_us)
    for _ in range(ROUNDS):
        if least_us <= beat_us:
            break
        beat_us = least_us
        ticks, least_us = clock.run(beat_us)
    ends = [max(tick.period_us, tick.quiet_us) for tick in ticks]
    return ProgrammeTiming(
        machine,
        plan,
        effort,
        clock.changes,
        tuple(ticks),
        clock.repeat_from,
        max((tick.period_us for tick in ticks), default=0),
        max((tick.bound_us for tick in ticks), default=0),
        every_us,
        beat_us,
        max(0, beat_us - max(ends, default=0)),
    )


def transition_period(
    machine: Machine, shown: FramePlan, coming: FramePlan, effort: int = EFFORT
) -> Tick:
    """The shortest time from the start of one frame's change to that of the next one's."""
    return schedule_tick(Setting(Topology(machine), (), shown, coming), effort)


class _Clock:
    """Runs the ticks of a programme one after the other; equal ticks are scheduled once."""

    def __init__(self, topology: Topology, plan: ProgrammePlan, effort: int) -> None:
        self.topology = topology
        self.effort = effort
        self.repeat_from: int | None = None
        self.changes, self.loads = plan.plans, self._loads(plan)
        if plan.again is not None:
            self.repeat_from = 0
            if self._changing(plan.again) != self._changing(plan.plans[0]):
                self.repeat_from = 1
                self.changes = (*plan.plans, plan.again)
                self.loads = (*self.loads, self.loads[0])
        self._ticks: dict[object, Tick] = {}
        self._deeds: dict[int, object] = {}

    @staticmethod
    def _loads(plan: ProgrammePlan) -> tuple[FramePlan | None, ...]:
        return (*plan.plans[1:], plan.again) if plan.plans else ()

    def _changing(self, plan: FramePlan) -> object:
        """What a plan does in its change: all that is not done while the last frame is seen."""
        builder = Builder(self.topology)
        builder.change(plan)
        return list(builder.pulses.values())

    def run(self, beat_us: int) -> tuple[list[Tick], int]:
        """The ticks at a beat, and the least beat that they show to be possible."""
        ticks: list[Tick] = []
        past: tuple[Pulse, ...] = ()
        least = 0
        opener: int | None = None
        for number, (plan, coming) in enumerate(zip(self.changes, self.loads, strict=True)):
            tick = self._tick(past, plan, coming, opener, beat_us)
            ticks.append(tick)
            least = max(least, tick.period_us if coming else 0)
            given = (*past, *tick.pulses)
            next_us = max(beat_us, tick.period_us)
            quiet = not past and tick.quiet_us <= next_us
            past = () if quiet else still_bounding(self.topology, given, next_us)
            opener = tick.opener if past else None
            if self.repeat_from is not None and number in (self.repeat_from - 1, self._last):
                least = max(least, quiet_us(self.topology, given))
        return ticks, least

    @property
    def _last(self) -> int:
        return len(self.changes) - 1

    def _tick(
        self,
        past: tuple[Pulse, ...],
        plan: FramePlan,
        coming: FramePlan | None,
        opener: int | None,
        beat_us: int,
    ) -> Tick:
        deeds = self._deed(plan), self._deed(coming) if coming else None
        before = tuple((p.actuator.index, p.position, p.start_us) for p in past)
        key = (before, deeds, opener, beat_us)
        if key not in self._ticks:
            setting = Setting(self.topology, past, plan, coming, opener, beat_us)
            self._ticks[key] = schedule_tick(setting, self.effort)
        return self._ticks[key]

    def _deed(self, plan: FramePlan) -> object:
        if id(plan) not in self._deeds:
            self._deeds[id(plan)] = deed_of(plan)
        return self._deeds[id(plan)]
