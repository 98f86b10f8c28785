"""How much work a search may do: the one place of every budget.

Work is counted in search nodes, never in time, so that the same input gives the same answer on
every machine. A search that has spent its budget gives what it has found, with its bound.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Effort:
    """A named step of effort.

    `schedule_nodes` is the budget of one schedule, the pulses of a load, a change or a tick;
    `cadence_runs` says how many cadences a programme is tried at.
    """

    name: str
    schedule_nodes: int
    cadence_runs: int


QUICK = Effort("quick", schedule_nodes=500, cadence_runs=4)
NORMAL = Effort("normal", schedule_nodes=2_000, cadence_runs=8)
THOROUGH = Effort("thorough", schedule_nodes=32_000, cadence_runs=32)

EFFORTS = {effort.name: effort for effort in (QUICK, NORMAL, THOROUGH)}
