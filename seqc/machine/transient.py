"""The current in a coil while it is pulsed, and what the pulse costs.

One loop of resistance R and inductance L on a voltage V: i(t) = V/R (1 - exp(-t R/L)) while it is
connected, and i(t) = i0 exp(-t R/L) once it is shorted (OpenStax University Physics 2, 14.4).
Energies and the integral of the squared current follow by integration. Voltage and inductance
stand for a coil at rest: the motion of its plunger is not in the formula.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Circuit:
    """A coil and its leads across a supply, in volts, ohms and henries."""

    volts: float
    ohms: float
    henries: float

    @property
    def final_a(self) -> float:
        """The current after a long time (Ohm's law)."""
        return self.volts / self.ohms

    @property
    def constant_s(self) -> float:
        """The time constant L/R."""
        return self.henries / self.ohms

    def _risen(self, elapsed_s: float, constants: int = 1) -> float:
        """1 - exp(-n t R/L); without inductance the current is there at once."""
        if not self.henries:
            return 1.0
        return -math.expm1(-constants * elapsed_s / self.constant_s)

    def current_a(self, elapsed_s: float) -> float:
        """The current a while after it was switched on."""
        return self.final_a * self._risen(elapsed_s)

    def decayed_a(self, start_a: float, elapsed_s: float) -> float:
        """What is left of a current a while after the coil was shorted."""
        return start_a * (1 - self._risen(elapsed_s))

    def reaches_s(self, current_a: float) -> float | None:
        """When a current is reached, or None if it never is."""
        if current_a >= self.final_a:
            return None
        return -math.log1p(-current_a / self.final_a) * self.constant_s

    def i2t_a2s(self, pulse_s: float) -> float:
        """The integral of the squared current over a pulse."""
        swing = self._risen(pulse_s)
        swing2 = self._risen(pulse_s, 2)
        return self.final_a**2 * (pulse_s - self.constant_s * (2 * swing - swing2 / 2))

    def supplied_j(self, pulse_s: float) -> float:
        """The energy that the supply gives to a pulse: all of it ends as heat."""
        return self.volts * self.final_a * (pulse_s - self.constant_s * self._risen(pulse_s))

    def stored_j(self, pulse_s: float) -> float:
        """The energy in the coil's field at the end of a pulse, for the suppression to take."""
        return self.henries * self.current_a(pulse_s) ** 2 / 2
