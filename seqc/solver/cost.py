"""What plans cost, to choose between them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple


class Cost(NamedTuple):
    """What plans cost, what counts most first; without a clock the times are 0.

    The longest load time comes before the sum of all, since it decides the cadence.
    """

    longest_us: int = 0
    load_us: int = 0
    pulses: int = 0

    def also(self, other: Cost) -> Cost:
        """The cost of these plans and others."""
        longest_us = max(self.longest_us, other.longest_us)
        return Cost(longest_us, self.load_us + other.load_us, self.pulses + other.pulses)

    def covers(self, other: Cost) -> bool:
        """Whether the other cost stays no less whatever comes to both."""
        return self.longest_us <= other.longest_us and self[1:] <= other[1:]

    def with_pulses(self, least: int) -> Cost:
        """The cost with so many pulses at least."""
        return self._replace(pulses=max(self.pulses, least))


NOTHING = Cost()


def least_of(costs: Sequence[Cost]) -> Cost:
    """What any of some costs comes to at least, whatever comes to all of them."""
    _, load_us, pulses = min(costs, key=lambda cost: cost[1:])
    return Cost(min(cost.longest_us for cost in costs), load_us, pulses)
