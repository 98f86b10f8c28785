"""How much work a search may do: the one place of every budget.

Work is counted in search nodes, never in time, so that the same input gives the same answer on
every machine. A search that has spent its budget gives what it has found, with its bound.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Effort:
    """A named step of effort.

    `plan_nodes` is the budget of a plan, a node taking some 0.04 ms; `schedule_nodes` is the budget
    of one schedule, the pulses of a load, a change or a tick, and `cadence_nodes` that of all
    schedules of a programme together. `cadence_runs` says how many cadences a programme is tried
    at, and `widened_pulses` how many pulses its different ticks may have to be widened, which takes
    some 4 ms for each.
    """

    name: str
    plan_nodes: int
    schedule_nodes: int
    cadence_nodes: int
    cadence_runs: int
    widened_pulses: int


QUICK = Effort(
    "quick",
    plan_nodes=16_000,
    schedule_nodes=500,
    cadence_nodes=4_000,
    cadence_runs=4,
    widened_pulses=500,
)
NORMAL = Effort(
    "normal",
    plan_nodes=64_000,
    schedule_nodes=2_000,
    cadence_nodes=12_000,
    cadence_runs=8,
    widened_pulses=2_000,
)
THOROUGH = Effort(
    "thorough",
    plan_nodes=1_000_000,
    schedule_nodes=32_000,
    cadence_nodes=4_000_000,
    cadence_runs=32,
    widened_pulses=50_000,
)

EFFORTS = {effort.name: effort for effort in (QUICK, NORMAL, THOROUGH)}


class Work:
    """What is left of the nodes that searches may look at; what a part spends, the whole spends."""

    def __init__(self, nodes: int, whole: Work | None = None) -> None:
        self.left = nodes
        self._whole = whole

    @property
    def over(self) -> bool:
        """Whether nothing is left."""
        return self.left <= 0

    def spend(self, nodes: int) -> None:
        """Note so many nodes that were looked at."""
        self.left -= nodes
        if self._whole is not None:
            self._whole.spend(nodes)

    def part(self, share: float) -> Work:
        """A budget of such a share of what is left."""
        return Work(max(0, int(share * self.left)), self)

    def at_least(self, nodes: int) -> Work:
        """A budget of so many nodes, even where no more is left."""
        return Work(nodes, self)
