"""Shared reverser: one double-pole relay turns the rail for all coils, one relay closes each."""

from __future__ import annotations

from seqc.machine.electrics import Coil, Drive
from seqc.machine.parts import Position
from seqc.machine.wiring import Actuator
from seqc.schedule.drives.rules import GUARD_US, Span
from seqc.schedule.problem import Channel
from seqc.schedule.pulses import Pulse

FORWARD, REVERSE = 0, 1


class SharedReverser:
    """Pulses that overlap have one polarity.

    The reverser moves only after every coil relay is open and the current has decayed, and has
    moved before the next coil relay closes.
    """

    def lead_us(self, drive: Drive) -> int:
        """The reverser operates, then the contact closes."""
        return drive.lead_us + GUARD_US

    def pause_us(self, drive: Drive, coil: Coil) -> int:
        """Recovery and decay; and no output before the contact of the last pulse is open."""
        return max(drive.gap_us(coil), drive.lead_us)

    def channel(self, drive: Drive) -> Channel | None:
        """To turn the rail takes the reverser's release (forward) or operate time (reverse)."""
        turn = (drive.lag_us + GUARD_US, drive.lead_us + GUARD_US)
        return Channel(f"reverser of {' '.join(drive.parts)}", None, turn)

    def mode(self, position: Position) -> int:
        """Forward drives to thrown, reverse to rest."""
        return FORWARD if position is Position.THROWN else REVERSE

    def clear_us(self, drive: Drive, coil: Coil) -> int:  # noqa: ARG002
        """Until the current has decayed."""
        return coil.decay_us + GUARD_US

    def batch(self, actuator: Actuator) -> int:  # noqa: ARG002
        """All alike."""
        return 0

    def spans(self, pulse: Pulse) -> tuple[Span, ...]:
        """The relay of the coil; around it the reverser, if the polarity is reverse."""
        drive = pulse.actuator.drive
        on_us = pulse.start_us - drive.lead_us
        own = Span(pulse.actuator.outputs[0], on_us, pulse.end_us - drive.lag_us)
        if self.mode(pulse.position) == FORWARD:
            return (own,)
        assert drive.reverser is not None
        off_us = pulse.end_us + self.clear_us(drive, pulse.actuator.coil)
        return (own, Span(drive.reverser, on_us - GUARD_US, off_us, drive.lag_us))
