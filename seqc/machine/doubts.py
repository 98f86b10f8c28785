"""What is doubtful about a machine however it is used."""

from __future__ import annotations

from seqc.machine.duty import DutyUse
from seqc.machine.electric_findings import electric_findings
from seqc.machine.findings import Finding
from seqc.machine.model import Machine
from seqc.machine.standoff import standoff_findings

MILLION = 1_000_000


def doubts(machine: Machine) -> tuple[Finding, ...]:
    """Warnings about its electrics at rest and about its standoff, in order of place."""
    at_rest = DutyUse(MILLION, (0,) * len(machine.actuators))
    standoff = standoff_findings(machine.standoff) if machine.standoff else ()
    found = (*electric_findings(machine, at_rest), *standoff)
    return tuple(sorted(found, key=lambda finding: finding.place))
