"""What no schedule makes good: too weak a supply, too slow a relay, parts that vary too much."""

from __future__ import annotations

from seqc.machine.electrics import MILLION, Drive, ceil_div
from seqc.machine.findings import Findings, ShortfallError
from seqc.machine.wiring import Actuator
from seqc.schedule.capacities import fed_relays, overdrawn, relays_ua
from seqc.schedule.durations import Durations


def refuse_shortfalls(durations: Durations) -> None:
    """Raise ShortfallError with everything that keeps pulses from being given at all."""
    findings = Findings()
    for name in overdrawn(durations):
        _look_at_relays(durations, name, findings)
    for actuator in durations.machine.actuators:
        _look_at_supply(actuator, findings)
        _look_at_start(actuator, findings)
        _look_at_length(actuator, durations.of(actuator).longest_us, findings)
    if findings.has_errors:
        raise ShortfallError(findings)


def _look_at_relays(durations: Durations, name: str, findings: Findings) -> None:
    """A supply feeds the coils of relays beside the pulses that they switch."""
    supply = next(one for one in durations.machine.supplies if one.name == name)
    relays = relays_ua(durations, fed_relays(durations)[name])
    findings.error(
        "over-current",
        f"the coils of relays draw {relays / MILLION:.3g} A or more of supply {name}, too much "
        f"beside its coils: it may give {supply.usable_ua / MILLION:.3g} A",
        supply.place,
        "a larger supply, or one of their own for the relays",
    )


def _look_at_supply(actuator: Actuator, findings: Findings) -> None:
    supply, coil = actuator.drive.supply, actuator.coil
    if actuator.peak_ua > supply.usable_ua:
        findings.error(
            "over-current",
            f"coil {coil.name} draws {actuator.peak_ua / MILLION:.3g} A, "
            f"{(actuator.peak_ua - supply.usable_ua) / MILLION:.3g} A more than supply "
            f"{supply.name} may give",
            supply.place,
            "a larger supply, or a coil of more resistance",
        )


def _look_at_start(actuator: Actuator, findings: Findings) -> None:
    """The output falls before the pulse ends, but not before the contact is sure to have closed."""
    drive, coil = actuator.drive, actuator.coil
    stops_us = drive.stops.least_us
    if coil.pulse_us >= stops_us:
        return
    relay = drive.relay if drive.switch is None else None
    what = f"relay {relay.name} takes to release" if relay else "its pulse switch takes to open"
    findings.error(
        "pulse-too-short-for-relay",
        f"a pulse of coil {coil.name} lasts {coil.pulse_us / 1000:g} ms, less than the "
        f"{stops_us / 1000:g} ms that {what}",
        drive.place,
        "a bridge, a quicker relay, or a pulse switch" if relay else "a quicker pulse switch",
    )


def _look_at_length(actuator: Actuator, longest_us: int, findings: Findings) -> None:
    """A pulse that is enough with any parts may be more than the coil bears with others."""
    coil = actuator.coil
    if longest_us <= coil.longest_us:
        return
    longest_ms = ceil_div(longest_us, 1000)
    findings.error(
        "pulse-varies-too-much",
        f"pulses of coil {coil.name} of at least {coil.pulse_us / 1000:g} ms may last "
        f"{longest_us / 1000:g} ms, since {_varying(actuator.drive)} varies; its longest is "
        f"{coil.longest_us / 1000:g} ms",
        coil.place,
        f"write `max pulse {longest_ms} ms` if the coil bears that, or give closer tolerances",
    )


def _varying(drive: Drive) -> str:
    """What makes pulses of a drive longer and shorter."""
    if drive.switch is not None:
        return "its pulse switch"
    return f"relay {drive.relay.name}" if drive.relay else "the clock"
