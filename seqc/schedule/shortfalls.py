"""What no schedule makes good: a coil too large for its supply, a relay too slow for its coil."""

from __future__ import annotations

from seqc.machine.electrics import MILLION
from seqc.machine.findings import Findings, ShortfallError
from seqc.machine.model import Machine
from seqc.machine.wiring import Actuator


def refuse_shortfalls(machine: Machine) -> None:
    """Raise ShortfallError with everything that keeps pulses from being given at all."""
    findings = Findings()
    for actuator in machine.actuators:
        _look_at_supply(actuator, findings)
        _look_at_relay(actuator, findings)
    if findings.has_errors:
        raise ShortfallError(findings)


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


def _look_at_relay(actuator: Actuator, findings: Findings) -> None:
    """Without a pulse switch the output falls `release` before the pulse ends."""
    drive, coil = actuator.drive, actuator.coil
    if drive.switch is None and drive.relay and coil.pulse_us < drive.lag_us:
        findings.error(
            "pulse-too-short-for-relay",
            f"a pulse of coil {coil.name} lasts {coil.pulse_us / 1000:g} ms, less than the "
            f"{drive.lag_us / 1000:g} ms that relay {drive.relay.name} takes to release",
            drive.place,
            "a bridge, a quicker relay, or a pulse switch",
        )
