"""Changeover pair and bridge: two outputs for each coil, one for each polarity, nothing shared."""

from __future__ import annotations

from seqc.machine.electrics import Coil, Drive
from seqc.machine.parts import Position
from seqc.machine.wiring import Actuator
from seqc.schedule.clock_rate import ClockRate
from seqc.schedule.drives.rules import Span
from seqc.schedule.problem import Channel
from seqc.schedule.pulses import Pulse


def polarity_output(pulse: Pulse) -> int:
    """The output of the polarity that a pulse needs: forward drives to thrown, reverse to rest."""
    return pulse.actuator.outputs[0 if pulse.position is Position.THROWN else 1]


class OwnOutputs:
    """The contact closes some time after its output and opens some time after it."""

    def lead_us(self, drive: Drive, clock: ClockRate) -> int:  # noqa: ARG002
        """The least operate time of the relay; a bridge has none."""
        return drive.lead.least_us

    def pause_us(self, drive: Drive, coil: Coil) -> int:
        """Recovery, decay and dead time; and no output before the contact of the last is open."""
        return max(drive.gap(coil).most_us, drive.lead.least_us)

    def channel(self, drive: Drive) -> Channel | None:  # noqa: ARG002
        """Nothing is shared."""
        return None

    def mode(self, position: Position) -> int:  # noqa: ARG002
        """There is one mode."""
        return 0

    def clear_us(self, drive: Drive, coil: Coil) -> int:  # noqa: ARG002
        """Nothing is kept."""
        return 0

    def batch(self, actuator: Actuator) -> int:  # noqa: ARG002
        """All alike."""
        return 0

    def spans(self, pulse: Pulse) -> tuple[Span, ...]:
        """The output of the polarity; its contact is closed for the pulse at least."""
        return (Span(polarity_output(pulse), pulse.on_us, pulse.off_us),)
