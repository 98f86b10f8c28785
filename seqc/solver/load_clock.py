"""Whatever can tell the solver how long a load takes."""

from __future__ import annotations

from typing import Protocol

from seqc.solver.plan import GridPlan


class LoadClock(Protocol):
    """Tells load times; the schedule does, which stands above the solver."""

    def load_us(self, plan: GridPlan) -> tuple[int, int]:
        """The time in which a grid by itself carries out some passes, and the least it could take.

        With fewer passes the least time is no longer. Where a lane has no transfer gate, the load
        is the change.
        """
