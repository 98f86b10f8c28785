"""What misfeeds do to a run: wrong cells that the next frame heals, and lanes that jam.

Misfeeds are few among many items and independent: their number in a time is that of Poisson, so
none comes with the chance exp(-mean).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from seqc.forecast.tally import Tally
from seqc.machine.model import Machine

DAY_US = 86_400_000_000
HOUR_US = 3_600_000_000
CLEAN = 0.9


@dataclass(frozen=True, slots=True)
class MisfeedForecast:
    """Misfeeds a day: those that the next frame heals, and those that jam a lane until a visit.

    `items_a_day` set out, each through several gates. A day without any has the chance
    `clean_day`; it has 90 % where no more than one in `needed` items misfeeds, at all gates
    together.
    """

    healing_a_day: float
    jams_a_day: float
    items_a_day: float

    @property
    def clean_day(self) -> float:
        """The chance of a day without a misfeed."""
        return math.exp(-self.healing_a_day - self.jams_a_day)

    @property
    def visit_h(self) -> float | None:
        """The mean time between jams, None if there are none."""
        return 24 / self.jams_a_day if self.jams_a_day else None

    @property
    def needed(self) -> int:
        """The least number of items of which one may misfeed."""
        return math.ceil(self.items_a_day / -math.log(CLEAN))


def misfeeds(machine: Machine, use: Tally) -> MisfeedForecast | None:
    """What the misfeeds that are told do at the rate of a tally; None where none is told."""
    told = [item.misfeed for item in machine.items] + [gate.misfeed for gate in machine.gates]
    if not any(told) or not use.running_us:
        return None
    days = use.running_us / DAY_US
    healing = jams = items = 0.0
    chances = {item.name: item.misfeed for item in machine.items}
    for magazine, count in use.drawn.items():
        lane = machine.lane_of(magazine.grid)
        metering = lane.metering.misfeed
        heals = metering + (1 - metering) * chances[magazine.kind]
        healing += count * heals
        jams += count * sum(gate.misfeed for gate in lane.gates[1:])
        items += count
    return MisfeedForecast(healing / days, jams / days, items / days)
