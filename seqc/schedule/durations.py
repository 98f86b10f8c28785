"""What each actuator's pulses take for sure, whichever parts within the tolerances are built in.

A pulse is counted from the earliest start of its current to the latest end, and what waits for it
waits for the latest: so a schedule that keeps these times holds for every draw, and nothing needs
to be sensed. It is strongly controllable in the sense of simple temporal networks with uncertainty
(Vidal and Fargier 1999).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from seqc.machine.electrics import ceil_div
from seqc.machine.model import Machine
from seqc.machine.parts import Gate, Position
from seqc.machine.span import PPM, Span
from seqc.machine.wiring import Actuator
from seqc.schedule.clock_rate import ClockRate
from seqc.schedule.drives.choice import rules_of
from seqc.schedule.pulses import Pulse


@dataclass(frozen=True, slots=True)
class Times:
    """The times of one actuator's pulses, in a table, but for `settled` and `longest_us`.

    The output is active for `hold_us`; `length_us` runs from the earliest start of the current to
    its latest end, `longest_us` is how long the current may really last. The next pulse of the coil
    starts `next_us` after this one. From the start on, the part is settled after a time within
    `settled`, in a table after `settled_us`; a gate may return after `open_us`, be thrown again
    after `refill_us`. `clear_us` is how long after its end the drive's channel is kept.
    """

    hold_us: int
    length_us: int
    longest_us: int
    next_us: int
    varies_us: int
    settled: Span
    settled_us: int
    open_us: int
    refill_us: int
    clear_us: int


@dataclass(frozen=True)
class Durations:
    """The times of all actuators of a machine, worked out once each.

    Those of a table are multiples of `grid_us`.
    """

    machine: Machine
    grid_us: int = 1
    _known: dict[int, Times] = field(default_factory=dict, init=False)

    @cached_property
    def clock(self) -> ClockRate:
        """The controller's clock."""
        off_ppm = self.machine.controller.clock_ppm
        leads = [one.drive.starts.least_us for one in self.machine.actuators] if off_ppm else [0]
        spread_us = max(leads, default=0) - min(leads, default=0)
        return ClockRate(off_ppm, ceil_div(spread_us * off_ppm, PPM), self.grid_us)

    @cached_property
    def lead_us(self) -> int:
        """How long before its pulse the first output of any drive may change."""
        drives = {id(one.drive): one.drive for one in self.machine.actuators}.values()
        leads = [rules_of(drive).lead_us(drive, self.clock.fine) for drive in drives]
        return max(leads, default=0)

    @cached_property
    def drift_us(self) -> int:
        """By how much a clock that is off moves the end of a table against what currents do."""
        off_ppm = self.clock.off_ppm
        leads = [one.drive.starts.least_us for one in self.machine.actuators] if off_ppm else [0]
        return ceil_div(max(leads, default=0) * off_ppm, PPM)

    def of(self, actuator: Actuator) -> Times:
        """The times of one actuator, as this machine has it."""
        if actuator.index not in self._known:
            self._known[actuator.index] = self._times(self.machine.actuators[actuator.index])
        return self._known[actuator.index]

    def pulse(self, actuator: Actuator, position: Position, start_us: int) -> Pulse:
        """A pulse of an actuator of this machine from some start on."""
        times = self.of(actuator)
        return Pulse(actuator, position, start_us, times.length_us, times.hold_us, self.clock.fine)

    def _times(self, actuator: Actuator) -> Times:
        rules, drive, coil = rules_of(actuator.drive), actuator.drive, actuator.coil
        starts, stops, lasting = drive.starts, drive.stops, self.clock.lasting
        # The slowest start and the quickest end still leave the coil its pulse.
        hold_us = lasting(coil.pulse_us + starts.most_us - stops.least_us)
        over_us = stops.most_us - starts.least_us
        varies_us = starts.most_us - starts.least_us
        settled = actuator.settled + Span(0, 0, varies_us)
        part = actuator.part
        open_us, refill_us = (part.open_us, part.refill_us) if isinstance(part, Gate) else (0, 0)
        return Times(
            hold_us,
            hold_us + lasting(over_us),
            self.clock.longest_us(hold_us) + over_us,
            hold_us + lasting(over_us + rules.pause_us(drive, coil)),
            lasting(varies_us) if varies_us else 0,
            settled,
            lasting(settled.most_us),
            lasting(settled.most_us + open_us),
            lasting(settled.most_us + refill_us),
            lasting(rules.clear_us(drive, coil)),
        )
