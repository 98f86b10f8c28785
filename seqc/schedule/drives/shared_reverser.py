"""Shared reverser: one double-pole relay turns the rail for all coils, one relay closes each."""

from __future__ import annotations

from seqc.machine.electrics import Coil, Drive
from seqc.machine.parts import Position
from seqc.machine.wiring import Actuator
from seqc.schedule.clock_rate import ClockRate
from seqc.schedule.drives.rules import GUARD_US, Span
from seqc.schedule.problem import Channel
from seqc.schedule.pulses import Pulse

FORWARD, REVERSE = 0, 1


class SharedReverser:
    """Pulses that overlap have one polarity.

    The reverser moves only after every coil relay is open and the current has decayed, and has
    moved before the next coil relay closes.
    """

    def lead_us(self, drive: Drive, clock: ClockRate) -> int:
        """The reverser operates, then the contact closes."""
        return drive.lead.least_us + _ahead_us(drive, clock)

    def pause_us(self, drive: Drive, coil: Coil) -> int:
        """Recovery and decay; and no output before the contact of the last pulse is open."""
        return max(drive.gap(coil).most_us, drive.lead.least_us)

    def channel(self, drive: Drive) -> Channel | None:
        """To turn the rail takes the reverser's release (forward) or operate time (reverse)."""
        rest_us = drive.bounce.most_us + GUARD_US
        turn = (drive.lag.most_us + rest_us, drive.lead.most_us + rest_us)
        return Channel(f"reverser of {' '.join(drive.parts)}", None, turn)

    def mode(self, position: Position) -> int:
        """Forward drives to thrown, reverse to rest."""
        return FORWARD if position is Position.THROWN else REVERSE

    def clear_us(self, drive: Drive, coil: Coil) -> int:
        """Until the coil's contact has come to rest and the current has decayed."""
        bounce_us = drive.bounce.most_us if drive.switch is None else 0
        return coil.decay.most_us + bounce_us + GUARD_US

    def batch(self, actuator: Actuator) -> int:  # noqa: ARG002
        """All alike."""
        return 0

    def spans(self, pulse: Pulse) -> tuple[Span, ...]:
        """The relay of the coil; around it the reverser, if the polarity is reverse."""
        drive = pulse.around.drive
        own = Span(pulse.actuator.outputs[0], pulse.on_us, pulse.off_us)
        if self.mode(pulse.position) == FORWARD:
            return (own,)
        assert drive.reverser is not None
        clear_us = drive.lag.most_us + self.clear_us(drive, pulse.around.coil)
        off_us = own.off_us + pulse.clock.lasting(clear_us)
        bridge_us = pulse.clock.lasting(drive.lag.most_us + drive.bounce.most_us)
        return (
            own,
            Span(drive.reverser, own.on_us - _ahead_us(drive, pulse.clock), off_us, bridge_us),
        )


def _ahead_us(drive: Drive, clock: ClockRate) -> int:
    """How long before the relay of a coil the reverser is switched: it settles first."""
    varies_us = drive.lead.most_us - drive.lead.least_us
    return clock.lasting(varies_us + drive.bounce.most_us + GUARD_US)
