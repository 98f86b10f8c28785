"""What a drive must tell the scheduler and the encoder."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from seqc.machine.electrics import Coil, Drive
from seqc.machine.parts import Position
from seqc.machine.wiring import Actuator
from seqc.schedule.clock_rate import ClockRate
from seqc.schedule.problem import Channel
from seqc.schedule.pulses import Pulse

GUARD_US = 1_000
"""Between the end of one contact's motion and whatever must find it at rest: a poll may be late."""


@dataclass(frozen=True, slots=True)
class Span:
    """An output that is active from `on_us` to `off_us`.

    Spans of one output that are `bridge_us` or less apart become one, since its contact could not
    open between them.
    """

    output: int
    on_us: int
    off_us: int
    bridge_us: int = 0


class Rules(Protocol):
    """The rules of one kind of drive.

    A pulse lasts from the earliest start of its current to the latest end. Times are real ones,
    but for those of spans and the lead, which are distances in a table.
    """

    def lead_us(self, drive: Drive, clock: ClockRate) -> int:
        """How long before a pulse the first output of the drive may change."""

    def pause_us(self, drive: Drive, coil: Coil) -> int:
        """The least time from the end of a pulse to the next one of the same coil."""

    def channel(self, drive: Drive) -> Channel | None:
        """How pulses of all coils of the drive keep apart, None if they needn't."""

    def mode(self, position: Position) -> int:
        """The state of the channel that a pulse to a position needs."""

    def clear_us(self, drive: Drive, coil: Coil) -> int:
        """How long after a pulse the channel must still keep its mode."""

    def batch(self, actuator: Actuator) -> int:
        """Equal for actuators whose pulses may coincide where the channel lets some do so."""

    def spans(self, pulse: Pulse) -> tuple[Span, ...]:
        """The outputs that are active for a pulse."""
