"""What is doubtful about a machine however it is used."""

from __future__ import annotations

from collections.abc import Iterator

from seqc.machine.duty import at_rest
from seqc.machine.electric_findings import electric_findings
from seqc.machine.findings import Finding, Severity
from seqc.machine.model import Machine
from seqc.machine.standoff import standoff_findings


def doubts(machine: Machine) -> tuple[Finding, ...]:
    """Warnings about its tolerance, its electrics at rest and its standoff, in order of place."""
    standoff = standoff_findings(machine.standoff) if machine.standoff else ()
    found = (*_tolerance(machine), *electric_findings(machine, at_rest(machine)), *standoff)
    return tuple(sorted(found, key=lambda finding: finding.place))


def _tolerance(machine: Machine) -> Iterator[Finding]:
    """That parts are taken to vary by some share because nobody tells by how much."""
    if machine.assumed_ppm is not None:
        share = f"{machine.assumed_ppm / 10_000:g} %"
        yield Finding(
            Severity.WARNING,
            "no-tolerance",
            f"not every part of {machine.name} tells its tolerance; {share} is taken",
            machine.place,
            f"write `tolerance {share}`, or what the data sheets say; `tolerance 0 %` for exact",
        )
