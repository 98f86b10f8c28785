"""What plans cost, to choose between them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from seqc.solver.objective import Objective


class Cost(NamedTuple):
    """What plans cost, what counts most first; without a timer the times are 0.

    `leading` are the pulses where they are preferred to load times, else 0. The longest load time
    comes before the sum of all, since it decides the cadence.
    """

    leading: int = 0
    longest_us: int = 0
    load_us: int = 0
    pulses: int = 0

    @classmethod
    def of(cls, objective: Objective, load_us: int, pulses: int) -> Cost:
        """The cost of one load."""
        leading = pulses if objective is Objective.PULSES else 0
        return cls(leading, load_us, load_us, pulses)

    def also(self, other: Cost) -> Cost:
        """The cost of these plans and others."""
        return Cost(
            self.leading + other.leading,
            max(self.longest_us, other.longest_us),
            self.load_us + other.load_us,
            self.pulses + other.pulses,
        )

    def times(self, number: int) -> Cost:
        """The cost of such plans so many times over."""
        leading, longest_us, load_us, pulses = self
        return Cost(leading * number, longest_us, load_us * number, pulses * number)

    def covers(self, other: Cost) -> bool:
        """Whether the other cost stays no less whatever comes to both."""
        return all(mine <= theirs for mine, theirs in zip(self, other, strict=True))

    def with_pulses(self, lower_bound: int) -> Cost:
        """The cost with so many pulses at least."""
        if lower_bound <= self.pulses:
            return self
        return self._replace(leading=lower_bound if self.leading else 0, pulses=lower_bound)


NOTHING = Cost()


def least_of(costs: Sequence[Cost]) -> Cost:
    """What any of some costs comes to at least, whatever comes to all of them."""
    leading, _, load_us, pulses = min(costs, key=lambda cost: (cost.leading, *cost[2:]))
    return Cost(leading, min(cost.longest_us for cost in costs), load_us, pulses)
