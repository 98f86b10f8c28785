"""Pulses in time, and what they draw from the supplies."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from seqc.machine.parts import Position
from seqc.machine.wiring import Actuator
from seqc.schedule.clock_rate import EXACT_CLOCK, ClockRate


@dataclass(frozen=True, slots=True)
class Pulse:
    """A current in one coil that drives to `position`.

    It starts at `start_us` or later, and is over `length_us` after that at the latest. The output
    that switches it is active for `hold_us`. The other outputs of its drive keep a distance to it
    that is enough for what varies as much as `around`, on a `clock` that may be off.
    """

    actuator: Actuator
    position: Position
    start_us: int
    length_us: int
    hold_us: int
    clock: ClockRate = EXACT_CLOCK
    widened: Actuator | None = None

    @property
    def around(self) -> Actuator:
        """The actuator with the tolerances that its other outputs count with."""
        return self.widened or self.actuator

    @property
    def on_us(self) -> int:
        """When the output that switches the current becomes active."""
        return self.start_us - self.actuator.drive.starts.least_us

    @property
    def off_us(self) -> int:
        """When it becomes inactive."""
        return self.on_us + self.hold_us

    @property
    def end_us(self) -> int:
        """When the current is over at the latest."""
        return self.start_us + self.length_us

    def later(self, by_us: int) -> Pulse:
        """The same pulse, `by_us` later."""
        return replace(self, start_us=self.start_us + by_us)

    def __repr__(self) -> str:
        return f"<{self.actuator.name} {self.position.value} {self.start_us}..{self.end_us}>"


def in_order(pulses: Iterable[Pulse]) -> tuple[Pulse, ...]:
    """Pulses by their starts, those of one instant by actuator."""
    return tuple(sorted(pulses, key=lambda pulse: (pulse.start_us, pulse.actuator.index)))


def supply_profile(pulses: Iterable[Pulse]) -> dict[str, tuple[tuple[int, int], ...]]:
    """For each supply by name, the current in microamperes from each instant on.

    Each coil counts as voltage over resistance for its whole pulse, from its earliest start to its
    latest end.
    """
    changes: dict[str, dict[int, int]] = {}
    for pulse in pulses:
        steps = changes.setdefault(pulse.actuator.drive.supply.name, {})
        current = pulse.actuator.peak_ua
        steps[pulse.start_us] = steps.get(pulse.start_us, 0) + current
        steps[pulse.end_us] = steps.get(pulse.end_us, 0) - current
    return {name: _running_sum(steps) for name, steps in changes.items()}


def _running_sum(steps: dict[int, int]) -> tuple[tuple[int, int], ...]:
    profile: list[tuple[int, int]] = []
    current = 0
    for at_us in sorted(steps):
        if steps[at_us]:
            current += steps[at_us]
            profile.append((at_us, current))
    return tuple(profile)
