"""Motion under a constant pull, in air where that counts, and the bounces at its end.

A body that is pulled with the acceleration a from the speed v goes v t + a t^2 / 2 in the time t.
Turbulent drag grows with the square of the speed and leaves it no faster than its terminal speed w:
dv/dt = a (1 - (v/w)^2), so that from rest s = (w^2/a) ln cosh(a t/w) (any text on mechanics). A
start at v is a start from rest p = (w/a) artanh(v/w) sooner.

At an end that gives back the share e of the speed, each bounce takes e times as long as the one
before; the first takes 2 e v/a, so all of them 2 e v/(a (1 - e)) (geometric series).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

LARGE = 300.0
"""Beyond this exponent cosh x is exp(x) / 2 to every digit."""

AIR_KG_PER_M3 = 1.204
"""Dry air at 20 C and 1013 hPa (from memory)."""

DRAG_OF_SPHERE = 0.47
"""Drag coefficient of a sphere in turbulent flow (from memory)."""


@dataclass(frozen=True, slots=True)
class Pull:
    """A pull in m/s^2, the speed at its start and the terminal one in m/s, None without air."""

    acceleration: float
    start: float = 0.0
    terminal: float | None = None

    def time_s(self, length_m: float) -> float:
        """The time for a length; one that starts above its terminal speed is taken to have it."""
        a, v = self.acceleration, self.start
        if self.terminal is None:
            return (
                (math.sqrt(v * v + 2 * a * length_m) - v) / a if v else math.sqrt(2 * length_m / a)
            )
        w = self.terminal
        if v >= w:
            return length_m / w
        ahead = math.atanh(v / w)
        exponent = a * length_m / w**2 + math.log(math.cosh(ahead))
        return (_arcosh_of_exp(exponent) - ahead) * w / a

    def speed_m_s(self, length_m: float) -> float:
        """The speed at the end of a length."""
        a, v, w = self.acceleration, self.start, self.terminal
        if w is None:
            return math.sqrt(v * v + 2 * a * length_m)
        left = math.exp(-2 * a * length_m / w**2)
        return min(w, math.sqrt(w * w - (w * w - min(v, w) ** 2) * left))

    def bounces_s(self, length_m: float, restitution: float) -> float:
        """How long all bounces at the end of a length last; drag would only shorten them."""
        speed = self.speed_m_s(length_m)
        return 2 * restitution * speed / (self.acceleration * (1 - restitution))


@dataclass(frozen=True, slots=True)
class Ball:
    """A sphere of some mass in air."""

    mass_mg: int
    diameter_um: int

    def terminal_m_s(self, force_per_mass: float) -> float:
        """The speed at which drag holds a pull: sqrt(2 m g / (rho C A)) where g is the pull."""
        area = math.pi / 4 * (self.diameter_um / 1e6) ** 2
        kilograms = self.mass_mg / 1e6
        return math.sqrt(2 * kilograms * force_per_mass / (AIR_KG_PER_M3 * DRAG_OF_SPHERE * area))


def _arcosh_of_exp(exponent: float) -> float:
    if exponent > LARGE:
        return exponent + math.log(2)
    return math.acosh(math.exp(exponent))
