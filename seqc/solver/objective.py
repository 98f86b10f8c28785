"""What makes one plan better than another, after the number of its passes."""

from __future__ import annotations

from enum import Enum
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from seqc.solver.plan import GridPlan


class Objective(Enum):
    """What counts next after the passes; the other of the two decides among equals."""

    PULSES = "pulses"
    LOAD_TIME = "load time"


class LoadClock(Protocol):
    """Whatever can tell how long a load takes: the schedule, which stands above the solver."""

    def load_us(self, plan: GridPlan) -> tuple[int, int]:
        """The time in which a grid by itself carries out some passes, and the least it could take.

        With fewer passes the least time is no longer. Where a lane has no transfer gate, the load
        is the change.
        """
