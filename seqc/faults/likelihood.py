"""How likely faults are, one beside the other: by their kind, by wear, and by what was done."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from seqc.faults.fault import Fault, FaultKind
from seqc.machine.model import Machine
from seqc.simulator.lines import lines_of
from seqc.simulator.pieces import Pieces

WEIGHTS = {
    FaultKind.LANE_BLOCKED: 8.0,
    FaultKind.HELD_ONCE: 6.0,
    FaultKind.LANE_SLOW: 4.0,
    FaultKind.TWO_AT_ONCE: 4.0,
    FaultKind.LINKAGE_BROKEN: 4.0,
    FaultKind.STUCK: 4.0,
    FaultKind.STICKS_AT_MAGNET: 4.0,
    FaultKind.CONTACT_OPEN: 2.0,
    FaultKind.WIRES_SWAPPED: 2.0,
    FaultKind.COILS_EXCHANGED: 1.0,
    FaultKind.MAGAZINES_EXCHANGED: 1.0,
    FaultKind.OUTPUT_OFF: 1.0,
    FaultKind.CONTACT_WELDED: 1.0,
    FaultKind.OUTPUT_ON: 0.5,
}
"""How often each comes, one beside the other (common practice, no source): what moves and rolls
fails before what is soldered."""

WORN = 10.0
"""By how much a part at the end of its rated life is likelier to be at fault, less one."""
HANDLED = 10.0
"""What was worked on last is so much likelier to be at fault."""
NEVER_RUN = 10.0
"""What is wired or filled wrongly is so much likelier in a machine that has never worked."""

OF_ASSEMBLY = {FaultKind.WIRES_SWAPPED, FaultKind.COILS_EXCHANGED, FaultKind.MAGAZINES_EXCHANGED}
OF_WEAR = {
    FaultKind.STUCK,
    FaultKind.LINKAGE_BROKEN,
    FaultKind.CONTACT_OPEN,
    FaultKind.CONTACT_WELDED,
}


@dataclass(frozen=True)
class Evidence:
    """What is known of a machine besides what is seen.

    `worn` has the share of its rated life that is used, for actuators by name: of the coil, or of
    its contacts if that is more. `handled` names the actuators that were worked on last. `is_new`
    tells that the machine has never worked as it should.
    """

    worn: Mapping[str, float] = field(default_factory=dict)
    handled: Collection[str] = ()
    is_new: bool = False


def weights(machine: Machine, faults: Collection[Fault], evidence: Evidence) -> list[float]:
    """The weight of each fault.

    A fault of several lines or cells together weighs as much as one; those that are counted once
    for each table in which they may have been share the weight of one.
    """
    tables = max((fault.table for fault in faults if fault.table is not None), default=0) + 1
    switching = lines_of(machine, Pieces())
    found = []
    for fault in faults:
        weight = WEIGHTS[fault.kind]
        names = [machine.actuators[index].name for index in fault.actuators]
        if fault.kind in OF_WEAR:
            weight *= 1 + WORN * max((evidence.worn.get(name, 0.0) for name in names), default=0.0)
        if fault.kind in OF_ASSEMBLY and evidence.is_new:
            weight *= NEVER_RUN
        if any(name in evidence.handled for name in names):
            weight *= HANDLED
        if fault.output is not None and fault.position is not None:
            weight /= 2
        if fault.output is not None and switching[fault.output].relay is None:
            weight *= 2
        found.append(weight / tables if fault.is_passing else weight)
    return found
