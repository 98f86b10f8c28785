"""Stretches of pulses that begin and end at home's positions, and the tables of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from seqc.machine.electrics import MILLION
from seqc.machine.model import Machine
from seqc.machine.parts import Position
from seqc.machine.steptable import StepTable
from seqc.machine.wiring import Actuator
from seqc.schedule.builder import Builder
from seqc.schedule.effects import quiet_us
from seqc.schedule.encode import spans_of, steps_between
from seqc.schedule.frame import time_on
from seqc.schedule.pulses import Pulse
from seqc.schedule.shortest import fill_in, pulses_of
from seqc.schedule.topology import playable
from seqc.solver.plan import FramePlan
from seqc.solver.positions import Positions, bits

LOOK_US = 500_000
"""How long a selector stays thrown, so that it can be watched."""


class Stretches:
    """Makes stretches of one machine, each from home's positions back to them."""

    def __init__(self, machine: Machine, nodes: int) -> None:
        self.machine = machine
        self.topology = playable(machine)
        self._nodes = nodes

    def frame(self, plan: FramePlan) -> tuple[Pulse, ...]:
        """A frame, planned from home's positions, and its selectors back at rest after it."""
        timing = time_on(self.topology, plan, self._nodes)
        return self.closed(timing.pulses, plan.end)

    def closed(self, pulses: Sequence[Pulse], end: Positions) -> tuple[Pulse, ...]:
        """Pulses that end in some positions, and then those that bring the selectors to rest."""
        builder = Builder(self.topology)
        for index in bits(end.thrown):
            builder.pulse(self.machine.actuators[index], Position.REST)
        quiet = quiet_us(self.topology, pulses)
        return (*pulses, *(pulse.later(quiet) for pulse in _placed(builder)))

    def in_a_row(self, stretches: Sequence[Sequence[Pulse]]) -> tuple[Pulse, ...]:
        """Stretches one after the other, each when the last leaves a quiet machine."""
        pulses: list[Pulse] = []
        for stretch in stretches:
            quiet = quiet_us(self.topology, pulses)
            pulses += (pulse.later(quiet) for pulse in stretch)
        return tuple(pulses)

    def thrown_and_back(self, selector: Actuator) -> tuple[Pulse, ...]:
        """A selector to thrown, a while to look, and back."""
        builder = Builder(self.topology)
        first = builder.pulse(selector, Position.THROWN)
        second = builder.pulse(selector, Position.REST)
        builder.arc(first, second, LOOK_US, "a look at it")
        return _placed(builder)

    def cycled(self, gate: Actuator) -> tuple[Pulse, ...]:
        """A gate through which nothing is to pass, thrown and back."""
        builder = Builder(self.topology)
        builder.pass_on((gate,), [])
        return _placed(builder)

    def table(self, name: str, pulses: Sequence[Pulse]) -> StepTable:
        """A table that ends with a quiet machine, and every coil rested as its duty asks."""
        lead = self.topology.durations.lead_us
        length = max(quiet_us(self.topology, pulses), rest_us(pulses)) + lead
        spans = spans_of(pulse.later(lead) for pulse in pulses)
        steps, left = steps_between(self.machine.idle_word, spans, length)
        assert not left, "a quiet machine has no active output"
        return StepTable(name, steps, length)


def _placed(builder: Builder) -> tuple[Pulse, ...]:
    return pulses_of(builder, dict(enumerate(fill_in(builder.problem(), {}))))


def rest_us(pulses: Iterable[Pulse]) -> int:
    """How long these pulses and the rest after them last at least, for no coil to pass its duty."""
    on_us: Counter[Actuator] = Counter()
    for pulse in pulses:
        on_us[pulse.actuator] += pulse.length_us
    return max((_period_us(actuator, on) for actuator, on in on_us.items()), default=0)


def _period_us(actuator: Actuator, on_us: int) -> int:
    """A coil on a higher voltage than its own bears less, by the square of the voltage."""
    coil = actuator.coil
    if coil.duty_ppm is None:
        return on_us
    over = max(actuator.drive.supply.voltage_mv / coil.voltage_mv, 1.0)
    return int(on_us * over**2 * MILLION / coil.duty_ppm) + 1
