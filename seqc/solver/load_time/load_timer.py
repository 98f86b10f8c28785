"""Whatever can tell the solver how long a load takes."""

from __future__ import annotations

from collections.abc import Hashable
from typing import Protocol

from seqc.machine.effort import Work
from seqc.solver.plan import GridPlan

FOREVER = 10**15
"""Longer than any load, in microseconds."""


class LoadTimer(Protocol):
    """Tells load times; the schedule does, which stands above the solver.

    What is asked is spent of some work; where that is over, a time may be longer than it need be.
    """

    def load_us(
        self, plan: GridPlan, work: Work | None = None, useful_us: int = FOREVER
    ) -> tuple[int, int]:
        """The time in which a grid by itself carries out some passes, and the least it could take.

        With fewer passes the least time is no longer. Where a lane has no transfer gate, the load
        is the change. Only a time shorter than `useful_us` is searched for, and the least that is
        told may be no better than that.
        """

    def throw_us(self, plan: GridPlan, work: Work) -> int:
        """The least time until the first gate of the last pass of some passes is thrown.

        Nothing but the passes of the plan counts.
        """

    def rest_us(self, plan: GridPlan, work: Work) -> int:
        """The least time from the first throw of the last pass until its items are loaded."""

    def alike(self, gate: int) -> Hashable:
        """Equal for metering gates that nothing tells apart but what they need."""
