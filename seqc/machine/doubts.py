"""What is doubtful about a machine however it is used."""

from __future__ import annotations

from collections.abc import Iterator

from seqc.machine.clearance import clearance_findings
from seqc.machine.duty import at_rest
from seqc.machine.electric_findings import electric_findings
from seqc.machine.findings import Finding, Severity
from seqc.machine.model import Machine

DIODE_TIMES = 3
"""How many times longer a relay releases with a diode across its coil (relay makers' notes)."""


def doubts(machine: Machine) -> tuple[Finding, ...]:
    """Warnings about its tolerance, its electrics at rest and its clearance, in order of place."""
    clearance = clearance_findings(machine.clearance) if machine.clearance else ()
    electric = electric_findings(machine, at_rest(machine))
    found = (*_tolerance(machine), *_diodes(machine), *electric, *clearance)
    return tuple(sorted(found, key=lambda finding: finding.place))


def _diodes(machine: Machine) -> Iterator[Finding]:
    """That a release time may be one without the diode that most cards have."""
    relays = {relay.name: relay for a in machine.actuators if (relay := a.drive.relay)}
    for relay in relays.values():
        if relay.has_diode is not None or not relay.release_us:
            continue
        release = f"{relay.release_us / 1000:g} ms"
        yield Finding(
            Severity.WARNING,
            "release-without-diode",
            f"relay {relay.name} releases in {release}; with the diode that cards have across each "
            f"relay's coil it takes about {DIODE_TIMES} times as long, some "
            f"{DIODE_TIMES * relay.release_us / 1000:g} ms",
            relay.place,
            f"write `release {release} with diode` if the card has one and that is the time with "
            "it, or `without diode`",
        )


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
