"""Pulse switch: a solid-state switch in the rail of a drive, so that no contact switches a load.

It closes after the contacts have settled and opens before they move. No contact of the drive may
move while it is closed; so two pulses of one drive coincide, or one waits for the other's contacts.
"""

from __future__ import annotations

from dataclasses import dataclass

from seqc.machine.electrics import Coil, Drive
from seqc.machine.parts import Position
from seqc.machine.wiring import Actuator
from seqc.schedule.drives.rules import GUARD_US, Rules, Span
from seqc.schedule.problem import Channel
from seqc.schedule.pulses import Pulse


@dataclass(frozen=True, slots=True)
class PulseSwitch:
    """A pulse switch on a drive with rules of its own."""

    contacts: Rules

    def lead_us(self, drive: Drive) -> int:
        """The contacts move first."""
        return self.contacts.lead_us(drive) + GUARD_US

    def pause_us(self, drive: Drive, coil: Coil) -> int:
        """The contacts of the last pulse open, and those of the next settle."""
        return max(drive.gap_us(coil), _swap_us(drive))

    def channel(self, drive: Drive) -> Channel | None:
        """Pulses coincide or wait until the contacts of both have moved."""
        below = self.contacts.channel(drive)
        name = f"pulse switch of {' '.join(drive.parts)}"
        swap = _swap_us(drive)
        if below is None:
            return Channel(name, swap, together=True)
        turn = (below.turn_us[0] + GUARD_US, below.turn_us[1] + GUARD_US)
        return Channel(name, swap, turn, together=True)

    def mode(self, position: Position) -> int:
        """As without the switch."""
        return self.contacts.mode(position)

    def clear_us(self, drive: Drive, coil: Coil) -> int:
        """Until the current has decayed and the contact, which opens after the switch, is open."""
        return max(self.contacts.clear_us(drive, coil), drive.lag_us + GUARD_US)

    def batch(self, actuator: Actuator) -> int:
        """As without the switch."""
        return self.contacts.batch(actuator)

    def spans(self, pulse: Pulse) -> tuple[Span, ...]:
        """The switch for the pulse itself; the contacts from before it to its end."""
        drive = pulse.actuator.drive
        assert drive.switch is not None
        moved = self.contacts.spans(pulse)
        own = Span(moved[0].output, moved[0].on_us - GUARD_US, pulse.end_us)
        clear = pulse.end_us + self.clear_us(drive, pulse.actuator.coil)
        rail = [Span(s.output, s.on_us - GUARD_US, clear, s.bridge_us) for s in moved[1:]]
        return (Span(drive.switch, pulse.start_us, pulse.end_us), own, *rail)


def _swap_us(drive: Drive) -> int:
    """From a pulse's end to the next: the one's contacts open while the other's close."""
    return max(drive.lead_us, drive.lag_us) + GUARD_US
