"""A machine whose tolerances are some times as large, at every factor that is asked for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from functools import cached_property

from seqc.machine.electrics import MILLION
from seqc.machine.findings import ShortfallError
from seqc.machine.model import Machine
from seqc.machine.tolerances import with_scaled_tolerances
from seqc.machine.wiring import Actuator
from seqc.schedule.drives.choice import rules_of
from seqc.schedule.durations import Durations
from seqc.schedule.topology import GRID_US, Topology, on_grid, playable

ONE = 1_000
"""The factor of what is declared: factors are counted in thousandths."""

MOST = 10 * ONE
"""Factors beyond this one aren't sought: parts don't vary by ten times what they are sold for."""

FURTHER = 2
"""What isn't the weakest is widened up to so many times the factor that is kept."""

HEAT = Fraction(5, 4)
"""No pulse is made longer than so many times what it is for the declared tolerances: it heats."""


class Scaling:
    """The machine at all factors; `rates` are the pulses per microsecond of each actuator.

    Distances are rounded as tables have them, or `exact`.
    """

    def __init__(
        self, machine: Machine, rates: Mapping[int, Fraction], *, exact: bool = False
    ) -> None:
        self.machine = machine
        self.rates = rates
        self.declared = Durations(machine)
        self._known: dict[int, Topology] = {ONE: Topology(machine) if exact else playable(machine)}

    @cached_property
    def most(self) -> int:
        """The largest factor at which every coil bears its pulses, as far as that is sought."""
        return largest(self.bears, ONE, FURTHER * MOST)

    def further(self, factor: int) -> int:
        """The factor up to which what isn't the weakest is widened."""
        return max(factor, min(self.most, FURTHER * factor))

    def at(self, factor: int) -> Topology:
        """The topology at a factor; raises ShortfallError where a coil bears no such pulses.

        Where those as declared are on a grid, so are these: what a controller is late with is worth
        more than the last per cent of a factor.
        """
        if factor not in self._known:
            scaled = with_scaled_tolerances(self.machine, factor / ONE)
            self._known[factor] = on_grid(scaled, self._known[ONE].grid_us)
        return self._known[factor]

    def bears(self, factor: int) -> bool:
        """Whether every coil bears its pulses at a factor."""
        try:
            times = self.at(factor).times
        except ShortfallError:
            return False
        return all(
            self._stays_cool(actuator, times(actuator).hold_us)
            for actuator in self.machine.actuators
        )

    def _stays_cool(self, actuator: Actuator, hold_us: int) -> bool:
        """Whether a coil keeps to its rated duty, or to what it has as declared if that is more."""
        drive, coil = actuator.drive, actuator.coil
        over_us = drive.stops.nominal_us - drive.starts.nominal_us
        declared_us = self.declared.of(actuator).hold_us
        if hold_us > declared_us * HEAT + GRID_US:
            return False
        duty = self.rates.get(actuator.index, 0) * (hold_us + over_us) * MILLION
        return coil.duty_ppm is None or hold_us <= declared_us or duty <= coil.duty_ppm

    def shift_us(self, factor: int) -> int:
        """By how much sooner than as declared a current may follow its output at a factor."""
        pairs = zip(self.machine.actuators, self.at(factor).machine.actuators, strict=True)
        gaps = [one.drive.starts.least_us - other.drive.starts.least_us for one, other in pairs]
        return max(gaps, default=0)

    def lead_at(self, factor: int) -> int:
        """By how much a table must lead its pulses, by their starts as declared, at a factor."""
        topology = self.at(factor)
        leads = [
            rules_of(drive).lead_us(drive, topology.durations.clock.fine)
            + one.drive.starts.least_us
            - drive.starts.least_us
            for one, other in zip(self.machine.actuators, topology.machine.actuators, strict=True)
            for drive in [other.drive]
        ]
        return max([self.at(ONE).durations.lead_us, *leads])


def largest(fits: Callable[[int], bool], low: int, high: int, step: int = 1) -> int:
    """The largest factor that fits, to a step; `low` is known to, and what fits is below it."""
    if fits(high):
        return high
    while high - low > step:
        middle = (low + high) // 2
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low
