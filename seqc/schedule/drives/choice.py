"""Which rules a drive follows."""

from __future__ import annotations

from seqc.machine.electrics import Drive, DriveKind
from seqc.schedule.drives.matrix import Matrix
from seqc.schedule.drives.own_outputs import OwnOutputs
from seqc.schedule.drives.pulse_switch import PulseSwitch
from seqc.schedule.drives.rules import Rules
from seqc.schedule.drives.shared_reverser import SharedReverser

_CONTACTS: dict[DriveKind, Rules] = {
    DriveKind.CHANGEOVER_PAIR: OwnOutputs(),
    DriveKind.BRIDGE: OwnOutputs(),
    DriveKind.SHARED_REVERSER: SharedReverser(),
    DriveKind.MATRIX: Matrix(),
}


def rules_of(drive: Drive) -> Rules:
    """The rules of a drive, those of its pulse switch around those of its contacts."""
    contacts = _CONTACTS[drive.kind]
    return contacts if drive.switch is None else PulseSwitch(contacts)
