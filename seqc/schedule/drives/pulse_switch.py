"""Pulse switch: a solid-state switch in the rail of a drive, so that no contact switches a load.

It closes after the contacts have settled and opens before they move. No contact of the drive may
move while it is closed; so two pulses of one drive coincide, or one waits for the other's contacts.
"""

from __future__ import annotations

from dataclasses import dataclass

from seqc.machine.electrics import Coil, Drive
from seqc.machine.parts import Position
from seqc.machine.wiring import Actuator
from seqc.schedule.clock_rate import ClockRate
from seqc.schedule.drives.rules import GUARD_US, Rules, Span
from seqc.schedule.problem import Channel
from seqc.schedule.pulses import Pulse


@dataclass(frozen=True, slots=True)
class PulseSwitch:
    """A pulse switch on a drive with rules of its own."""

    contacts: Rules

    def lead_us(self, drive: Drive, clock: ClockRate) -> int:
        """The contacts move first, unless the switch itself takes longer to close."""
        around_us = self.contacts.lead_us(drive, clock) - drive.lead.least_us
        return drive.turn_on.least_us + max(0, _ahead_us(drive, clock) + around_us)

    def pause_us(self, drive: Drive, coil: Coil) -> int:
        """The contacts of the last pulse open before those of the next close, and these settle."""
        varies_us = drive.lead.most_us - drive.lead.least_us
        opposed_us = drive.lag.most_us + varies_us + _settle_us(drive)
        return max(drive.gap(coil).most_us, _swap_us(drive), opposed_us)

    def channel(self, drive: Drive) -> Channel | None:
        """Pulses coincide or wait until the contacts of both have moved."""
        below = self.contacts.channel(drive)
        name = f"pulse switch of {' '.join(drive.parts)}"
        swap = _swap_us(drive)
        if below is None:
            return Channel(name, swap, together=True)
        varies_us = drive.lead.most_us - drive.lead.least_us
        forward, reverse = below.turn_us
        turn = (forward + GUARD_US, reverse + varies_us + _settle_us(drive))
        return Channel(name, swap, turn, together=True)

    def mode(self, position: Position) -> int:
        """As without the switch."""
        return self.contacts.mode(position)

    def clear_us(self, drive: Drive, coil: Coil) -> int:
        """Until the current has decayed and the contact, which opens after the switch, is open."""
        return max(self.contacts.clear_us(drive, coil), drive.lag.most_us + _settle_us(drive))

    def batch(self, actuator: Actuator) -> int:
        """As without the switch."""
        return self.contacts.batch(actuator)

    def spans(self, pulse: Pulse) -> tuple[Span, ...]:
        """The switch for the pulse itself; the contacts from before it to its end."""
        drive = pulse.around.drive
        assert drive.switch is not None
        on_us, off_us = pulse.on_us, pulse.off_us
        open_us = drive.turn_off.most_us
        clear_us = off_us + pulse.clock.lasting(open_us + self.clear_us(drive, pulse.around.coil))
        moved = self.contacts.spans(pulse)
        first_us = on_us - _ahead_us(drive, pulse.clock)
        own = Span(moved[0].output, first_us, off_us + pulse.clock.lasting(open_us))
        rail = [
            Span(s.output, first_us - moved[0].on_us + s.on_us, clear_us, s.bridge_us)
            for s in moved[1:]
        ]
        return (Span(drive.switch, on_us, off_us), own, *rail)


def _ahead_us(drive: Drive, clock: ClockRate) -> int:
    """How long before the switch the contacts are moved: they are at rest before it closes."""
    return clock.lasting(drive.lead.most_us + _settle_us(drive) - drive.turn_on.least_us)


def _swap_us(drive: Drive) -> int:
    """From a pulse's end to the next: the one's contacts open while the other's close.

    The switch is called again only when it has opened.
    """
    moved_us = max(drive.lead.most_us, drive.lag.most_us) + _settle_us(drive)
    return max(moved_us, drive.turn_on.least_us + GUARD_US)


def _settle_us(drive: Drive) -> int:
    """From a contact's move to when it must be found at rest."""
    return drive.bounce.most_us + GUARD_US
