"""A machine whose tolerances are some times as large, at every factor that is asked for."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property

from seqc.machine.findings import ShortfallError
from seqc.machine.model import Machine
from seqc.machine.tolerances import with_scaled_tolerances
from seqc.machine.wiring import Actuator
from seqc.schedule.drives.choice import rules_of
from seqc.schedule.topology import Topology, on_grid, playable

ONE = 1_000
"""The factor of what is declared: factors are counted in thousandths."""

MOST = 10 * ONE
"""Factors beyond this one aren't sought: parts don't vary by ten times what they are sold for."""


FURTHER = 2
"""What isn't the weakest is widened up to so many times the factor that is kept."""


class Scaling:
    """The machine at all factors."""

    def __init__(self, machine: Machine) -> None:
        self.machine = machine
        self._known: dict[int, Topology] = {ONE: playable(machine)}

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
            self.at(factor)
        except ShortfallError:
            return False
        return True

    @property
    def shortest(self) -> str:
        """The coil that bears no more, in words."""
        topology = self.at(self.most)

        def spare_us(actuator: Actuator) -> int:
            return actuator.coil.longest_us - topology.times(actuator).longest_us

        return f"longest pulse of coil {min(self.machine.actuators, key=spare_us).coil.name}"

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
