"""The time of a programme: every frame by itself, every tick in its place, and the cadence kept."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from seqc.machine.effort import NORMAL, Effort
from seqc.machine.model import Machine
from seqc.schedule.actions import Actions
from seqc.schedule.cadence import Round
from seqc.schedule.chain import Link, summary
from seqc.schedule.frame import FrameTiming, time_frame
from seqc.schedule.tick import Setting, Tick, schedule_tick
from seqc.schedule.topology import Topology, playable
from seqc.solver.plan import FramePlan, ProgrammePlan


@dataclass(frozen=True)
class ProgrammeTiming:
    """How a programme runs in time.

    `frames` are the frames by themselves, in order, and `again` is the first one's reload in a
    repeating programme; both are scheduled when they are first asked for. Tick k makes the change
    of plan k of `changes` and the load of plan k of `loads`, the next; a repeating programme goes
    on with tick number `repeat_from` (from 0) after the last.

    `period_us` is the least cadence found at which the whole programme is kept, and no cadence
    shorter than `bound_us` is, by tables with distances that a small controller plays well.
    Whatever the cadence `cadence_us` that was asked for, both are the same. The tables run at
    `beat_us`: the cadence, or the period if that is longer. `quiet_us` is the least cadence at
    which every tick starts with a quiet machine. The table of a tick begins `lead_us` before the
    pulse that starts it.
    """

    machine: Machine
    plan: ProgrammePlan
    effort: Effort
    changes: tuple[FramePlan, ...]
    loads: tuple[FramePlan | None, ...]
    ticks: tuple[Tick, ...]
    repeat_from: int | None
    period_us: int
    bound_us: int
    cadence_us: int
    quiet_us: int
    lead_us: int

    @property
    def frames(self) -> tuple[FrameTiming, ...]:
        """The frames by themselves."""
        return tuple(self.of_frames(self.plan.plans))

    def of_frames(self, plans: Iterable[FramePlan]) -> Iterator[FrameTiming]:
        """Some of the frames by themselves; those that do the same are scheduled once."""
        for plan in plans:
            key = self._actions.of(plan)
            if key not in self._alone:
                self._alone[key] = time_frame(self.machine, plan, self.effort.schedule_nodes)
            yield self._alone[key]

    @cached_property
    def _actions(self) -> Actions:
        return Actions()

    @cached_property
    def _alone(self) -> dict[object, FrameTiming]:
        return {}

    @cached_property
    def again(self) -> FrameTiming | None:
        """The first frame's reload by itself, None where the programme doesn't repeat."""
        again = self.plan.again
        return time_frame(self.machine, again, self.effort.schedule_nodes) if again else None

    @property
    def beat_us(self) -> int:
        """The cadence at which the tables run."""
        return max(self.cadence_us, self.period_us)

    @property
    def spare_us(self) -> int:
        """How much sooner than on the beat a tick may start, no output of the last one left on."""
        ends = [pulse.end_us for tick in self.ticks for pulse in tick.pulses[-2:]]
        over_us = max(ends, default=0) + self.lead_us
        return max(0, self.beat_us - max(self.quiet_us, over_us))

    @property
    def kept(self) -> bool:
        """Whether the picture changes exactly on the cadence."""
        return self.cadence_us >= self.period_us

    @property
    def proven(self) -> bool:
        """Whether no schedule of these plans keeps a shorter cadence."""
        return self.period_us == self.bound_us

    @cached_property
    def slowest(self) -> int:
        """The number of the tick that makes the period, from 0."""
        reached = [min(tick.ready_us, self.period_us) for tick in self.ticks]
        return max(range(len(reached)), key=reached.__getitem__)

    @property
    def critical_chain(self) -> tuple[Link, ...]:
        """What the period is made of."""
        if not self.ticks:
            return ()
        tick = self.ticks[self.slowest]
        links = tick.links
        if tick.period_us < self.period_us:
            last = links[-1].task if links else "start"
            rest = Link("next change", last, "back to rest", tick.period_us, self.period_us)
            links = (*links, rest)
        return links

    @property
    def limits(self) -> str:
        """What the period is made of, in one line."""
        return summary(self.critical_chain, self.period_us)


def time_programme(
    machine: Machine, plan: ProgrammePlan, every_us: int, effort: Effort = NORMAL
) -> ProgrammeTiming:
    """Schedule a programme at a cadence, or at the least one that was found if that is longer."""
    topology = playable(machine)
    found = Round(topology, plan, effort).least()
    row = found.row_at(max(every_us, found.period_us))
    return ProgrammeTiming(
        machine,
        plan,
        effort,
        row.changes,
        row.loads,
        row.ticks,
        row.repeat_from,
        found.period_us,
        found.bound_us,
        every_us,
        found.quiet.needed_us,
        topology.durations.lead_us,
    )


def transition_period(
    machine: Machine, shown: FramePlan, coming: FramePlan, nodes: int = NORMAL.schedule_nodes
) -> Tick:
    """The shortest time from the start of one frame's change to that of the next one's."""
    return schedule_tick(Setting(Topology(machine), (), shown, coming), nodes)
