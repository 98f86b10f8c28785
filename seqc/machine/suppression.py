"""What may stand across a coil to take the energy of its field when it is switched off."""

from __future__ import annotations

from enum import Enum


class Suppression(Enum):
    """A part across a coil that takes the energy of its field."""

    DIODE = "plain diode"
    BIDIRECTIONAL = "bidirectional suppressor"
    VARISTOR = "varistor"
    RC = "RC snubber"
    BRIDGE_DIODES = "four bridge diodes"

    @property
    def bears_reversal(self) -> bool:
        """Whether it may stand across a coil that is driven both ways.

        A plain freewheel diode conducts across the supply once the polarity is reversed (relay
        makers' suppression notes).
        """
        return self is not Suppression.DIODE
