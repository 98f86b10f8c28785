"""How long parts live: operations to failure after Weibull, with two parameters (IEC 61810-2).

The share of parts that fail within n operations is 1 - exp(-(n/eta)^b): eta is the scale, b the
shape. A life B10 is the number that a tenth of parts doesn't reach.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from itertools import pairwise

ASSUMED_SHAPE = 2.0
"""The shape of lives of which none is told: parts wear out (common practice, no source)."""

TENTH = -math.log(0.9)
HALF = math.log(2)
STEPS = 200


@dataclass(frozen=True, slots=True)
class Lifetime:
    """The life of one part in hours of a use: a tenth of such parts doesn't reach `b10_h`."""

    b10_h: float
    shape: float

    @property
    def scale_h(self) -> float:
        """Eta, which 63 % of parts don't reach."""
        return self.b10_h / math.pow(TENTH, 1 / self.shape)

    @property
    def mean_h(self) -> float:
        """The mean: eta Gamma(1 + 1/b)."""
        return self.scale_h * math.gamma(1 + 1 / self.shape)

    def hazard(self, hours: float) -> float:
        """(t/eta)^b, the sum of all risk up to a time: a part survives it with exp(-hazard)."""
        return math.pow(hours / self.scale_h, self.shape)

    def renewals(self, hours: float) -> float:
        """How often a part fails on average in a time, if each is replaced at once by a new one.

        The equation of renewal, m(t) = F(t) + the integral of m(t - x) dF(x), in steps; after many
        lives m(t) = t/mean + (v^2 - 1)/2 with v the deviation over the mean (any text on renewal).
        """
        mean = self.mean_h
        if hours > 10 * mean:
            second = self.scale_h**2 * math.gamma(1 + 2 / self.shape)
            return hours / mean + second / (2 * mean**2) - 1
        return _renewals(float(f"{hours / self.scale_h:.3g}"), self.shape)


@functools.lru_cache(maxsize=1024)
def _renewals(lives: float, shape: float) -> float:
    """The renewals in so many times the scale, by the rule of trapezoids."""
    failed = [-math.expm1(-math.pow(lives * k / STEPS, shape)) for k in range(STEPS + 1)]
    shares = [after - before for before, after in pairwise(failed)]
    counts = [0.0]
    for k in range(1, STEPS + 1):
        again = sum((counts[k - j - 1] + counts[k - j]) / 2 * shares[j] for j in range(1, k))
        counts.append((failed[k] + again + counts[-1] / 2 * shares[0]) / (1 - shares[0] / 2))
    return counts[-1]


def first_failure_h(parts: dict[Lifetime, int], hazard: float) -> float | None:
    """When the first of so many parts has failed with the chance 1 - exp(-hazard); None if never.

    The first failure of many parts is that of a series system, whose hazards add up.
    """
    if not parts:
        return None

    def total(hours: float) -> float:
        return sum(count * part.hazard(hours) for part, count in parts.items())

    high = min(part.scale_h for part in parts) * 2
    while total(high) < hazard:
        high *= 2
    low = 0.0
    for _ in range(100):
        middle = (low + high) / 2
        low, high = (middle, high) if total(middle) < hazard else (low, middle)
    return low


def enough(mean: float, chance: float) -> int:
    """The least count that a Poisson number of some mean doesn't exceed with a chance."""
    count, term = 0, math.exp(-min(mean, 700.0))
    if mean > 700:
        return math.ceil(mean + 1.2816 * math.sqrt(mean))
    total = term
    while total < chance:
        count += 1
        term *= mean / count
        total += term
    return count
