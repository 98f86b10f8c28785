"""Several frames in a row as one table, at any cadence that they keep."""

from __future__ import annotations

from collections.abc import Sequence
from functools import reduce

from seqc.machine.effort import Effort
from seqc.machine.electrics import ceil_div
from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.machine.steptable import StepTable
from seqc.schedule.cadence import Round
from seqc.schedule.clock import ScheduleClock
from seqc.schedule.commissioning.stretches import Stretches
from seqc.schedule.frame import load_alone
from seqc.solver.positions import Positions, home
from seqc.solver.programme import plan_programme

MILLISECOND = 1_000


class Run:
    """Frames that are planned jointly, from home's positions, on one machine."""

    def __init__(self, machine: Machine, frames: Sequence[Frame], effort: Effort) -> None:
        self._nodes = effort.schedule_nodes
        self._make = Stretches(machine, self._nodes)
        self._start, clock = home(len(machine.actuators)), ScheduleClock(machine)
        self._plan = plan_programme(machine, frames, self._start, clock=clock, effort=effort)
        self._cadence = Round(self._make.topology, self._plan, effort).least()

    @property
    def period_us(self) -> int:
        """The least cadence found, in whole milliseconds."""
        return ceil_div(self._cadence.period_us, MILLISECOND) * MILLISECOND

    @property
    def shows(self) -> tuple[Glyph, ...]:
        """What is seen at the end: of each grid the glyph that came last."""
        plans = self._plan.plans
        return tuple({glyph.grid: glyph for plan in plans for glyph in plan.frame}.values())

    def table(self, name: str, cadence_us: int) -> StepTable:
        """The first load, then the ticks at a cadence that is kept, and the selectors to rest."""
        load = load_alone(self._make.topology, self._plan.plans[0], self._nodes)
        at_us, pulses = max(load.reached_us, load.quiet_us), [*load.pulses]
        for tick in self._cadence.row_at(cadence_us).ticks:
            pulses += (pulse.later(at_us) for pulse in tick.pulses)
            at_us += cadence_us
        ends = (plan.end for plan in self._plan.plans)
        end = reduce(Positions.then, ends, self._start)
        return self._make.table(name, self._make.closed(pulses, end))
