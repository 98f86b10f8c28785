"""Matrix: a coil at each crossing; an active row and an active column drive it.

Where several rows and columns are active, every crossing of them is driven. So pulses of one row
may coincide, in any of its columns, and pulses of different rows may not overlap: another crossing
would be driven with them.
"""

from __future__ import annotations

from seqc.machine.electrics import Coil, Drive
from seqc.machine.parts import Position
from seqc.machine.wiring import Actuator
from seqc.schedule.clock_rate import ClockRate
from seqc.schedule.drives.rules import Span
from seqc.schedule.problem import Channel
from seqc.schedule.pulses import Pulse

FORWARD, REVERSE = 0, 1


class Matrix:
    """Pulses of the coils of one row coincide, or the drive's dead time is between any two."""

    def lead_us(self, drive: Drive, clock: ClockRate) -> int:  # noqa: ARG002
        """Solid state: nothing moves before the pulse."""
        return 0

    def pause_us(self, drive: Drive, coil: Coil) -> int:
        """Recovery, decay and dead time."""
        return drive.gap(coil).most_us

    def channel(self, drive: Drive) -> Channel | None:
        """The dead time keeps the two switches of a row, or a column, from being on at once."""
        return Channel(f"matrix of {' '.join(drive.parts)}", drive.dead_us, together=True)

    def mode(self, position: Position) -> int:
        """Forward drives to thrown, reverse to rest."""
        return FORWARD if position is Position.THROWN else REVERSE

    def clear_us(self, drive: Drive, coil: Coil) -> int:
        """The other polarity waits until the current has decayed through the column's diodes."""
        return max(coil.decay.most_us, drive.dead_us)

    def batch(self, actuator: Actuator) -> int:
        """The row, by its high switch."""
        return actuator.outputs[0]

    def spans(self, pulse: Pulse) -> tuple[Span, ...]:
        """A switch of the row and the opposite one of the column, for the pulse itself."""
        first = 0 if self.mode(pulse.position) == FORWARD else 2
        row, column = pulse.actuator.outputs[first : first + 2]
        times = pulse.on_us, pulse.off_us
        return Span(row, *times), Span(column, *times)
