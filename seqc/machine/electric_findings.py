"""Findings about coils, contacts and supplies, each with the number by which it falls short.

An error is what lets no machine run (a supply that is asked for more than it gives, a diode that
shorts it) and what a use wears beyond its rating; all else are warnings.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator

from seqc.machine.cautions import DRY_V, EXTRA_LOW, WET_V
from seqc.machine.duty import CoilState, DutyUse, SupplyState, coil_states, supply_states
from seqc.machine.electrics import MILLION, DriveKind, Supply
from seqc.machine.findings import Finding, Place, Severity
from seqc.machine.model import Machine
from seqc.machine.winding import allowed_voltage_ratio

INDUCTIVE_SHARE = 0.5
"""A contact's rating on an inductive direct current over that on a resistive one (makers)."""


def electric_findings(machine: Machine, use: DutyUse) -> tuple[Finding, ...]:
    """Everything doubtful about a machine's electrics under a use, in order of place.

    Alike coils on one supply are reported once, by the actuator that is used most.
    """
    coils = [_coil_findings(state) for state in _hardest_used(coil_states(machine, use))]
    supplies = [_supply_findings(state) for state in supply_states(machine, use)]
    found = dict.fromkeys(finding for some in (*coils, *supplies) for finding in some)
    return tuple(sorted(found, key=lambda finding: finding.place))


def _hardest_used(states: Iterable[CoilState]) -> list[CoilState]:
    hardest: dict[tuple[str, int], CoilState] = {}
    for state in states:
        key = (state.actuator.coil.name, id(state.actuator.drive))
        if key not in hardest or state.duty > hardest[key].duty:
            hardest[key] = state
    return list(hardest.values())


def _coil_findings(state: CoilState) -> Iterator[Finding]:
    checks: tuple[Callable[[CoilState], Finding | None], ...] = (
        _voltage,
        _pull_in,
        _duty,
        _steady_heat,
        _pulse_heat,
        _suppression,
        _contact,
    )
    for check in checks:
        finding = check(state)
        if finding:
            yield finding


def _error(code: str, message: str, place: Place, hint: str) -> Finding:
    return Finding(Severity.ERROR, code, message, place, hint)


def _warning(code: str, message: str, place: Place, hint: str) -> Finding:
    return Finding(Severity.WARNING, code, message, place, hint)


def _voltage(state: CoilState) -> Finding | None:
    coil = state.actuator.coil
    supply = state.actuator.drive.supply
    over_mv = supply.voltage_mv - coil.voltage_mv
    if over_mv <= 0:
        return None
    return _warning(
        "over-voltage",
        f"coil {coil.name} is made for {coil.voltage_mv / 1000:g} V, and supply {supply.name} "
        f"gives {over_mv / 1000:g} V more: {supply.voltage_mv / 1000:g} V",
        coil.place,
        "take a supply of the coil's voltage; heat grows with the square of the voltage",
    )


def _pull_in(state: CoilState) -> Finding | None:
    coil = state.actuator.coil
    if coil.winding.pull_in_ua is None:
        return None
    wanted_a = coil.winding.pull_in_ua / MILLION
    if state.reached_a < wanted_a:
        return _warning(
            "no-pull-in",
            f"a warm coil {coil.name} reaches {state.reached_a:.3g} A by the end of its pulse, "
            f"{wanted_a - state.reached_a:.3g} A short of its pull-in current {wanted_a:.3g} A",
            coil.place,
            "thicker or shorter leads, a longer pulse or a higher voltage",
        )
    pulls_us = state.pulls_in_us
    if pulls_us is None or pulls_us <= coil.travel_us:
        return None
    return _warning(
        "late-pull-in",
        f"a warm coil {coil.name} reaches its pull-in current {wanted_a:.3g} A after "
        f"{pulls_us / 1000:.3g} ms, {(pulls_us - coil.travel_us) / 1000:.3g} ms after the "
        f"{coil.travel_us / 1000:g} ms in which it is to have travelled",
        coil.place,
        "declare a longer travel, or bring the current up faster",
    )


def _duty(state: CoilState) -> Finding | None:
    coil = state.actuator.coil
    if coil.duty_ppm is None:
        return None
    over = state.actuator.drive.supply.voltage_mv / coil.voltage_mv
    allowed = min(1.0, coil.duty_ppm / MILLION / max(over, 1.0) ** 2)
    if state.duty <= allowed:
        return None
    ratio = allowed_voltage_ratio(allowed, state.duty)
    return _error(
        "over-duty",
        f"{state.actuator.name} is on for {state.duty:.2%} of the time, {state.duty - allowed:.2%} "
        f"more than the {allowed:.2%} that coil {coil.name} bears",
        coil.place,
        f"slow the cadence, shorten the pulse, or go down to {ratio:.0%} of the voltage",
    )


def _steady_heat(state: CoilState) -> Finding | None:
    coil = state.actuator.coil
    limit = coil.winding.limit_c
    if state.steady_c is None or limit is None or state.steady_c <= limit:
        return None
    return _error(
        "over-heat",
        f"{state.actuator.name} settles at {state.steady_c:.0f} C, {state.steady_c - limit:.0f} K "
        f"over the {limit} C of class {coil.winding.thermal_class} (IEC 60085)",
        coil.place,
        "slow the cadence, shorten the pulse, cool the coil or take a larger one",
    )


def _pulse_heat(state: CoilState) -> Finding | None:
    coil = state.actuator.coil
    limit = coil.winding.limit_c
    if state.pulse_rise_k is None or state.steady_c is None or limit is None:
        return None
    top_c = state.steady_c + state.pulse_rise_k
    if state.steady_c > limit or top_c <= limit:
        return None
    return _warning(
        "pulse-heat",
        f"one pulse of {coil.longest_us / 1000:g} ms takes {state.actuator.name} from "
        f"{state.steady_c:.0f} C to {top_c:.0f} C, {top_c - limit:.0f} K over the {limit} C of "
        f"class {coil.winding.thermal_class} (IEC 60085)",
        coil.place,
        "cut the longest pulse",
    )


def _suppression(state: CoilState) -> Finding | None:
    coil = state.actuator.coil
    if coil.suppression is None or coil.suppression.bears_reversal:
        return None
    bridge = state.actuator.drive.kind is DriveKind.BRIDGE
    advice = "the bridge's own four diodes" if bridge else "a bidirectional suppressor or varistor"
    return _error(
        "diode-across-supply",
        f"a plain diode across coil {coil.name}, which is driven both ways, shorts the supply as "
        "soon as the polarity is reversed",
        coil.place,
        f"fit {advice} instead",
    )


def _contact(state: CoilState) -> Finding | None:
    drive = state.actuator.drive
    if drive.relay is None or drive.relay.contact_ua is None:
        return None
    rated_a = drive.relay.contact_ua / MILLION
    allowed_a = rated_a if drive.switch is not None else rated_a * INDUCTIVE_SHARE
    if state.cold.final_a <= allowed_a:
        return None
    load = "carry" if drive.switch is not None else "switch of an inductive load"
    return _warning(
        "over-contact",
        f"coil {state.actuator.coil.name} draws {state.cold.final_a:.3g} A through relay "
        f"{drive.relay.name}, {state.cold.final_a - allowed_a:.3g} A more than the "
        f"{allowed_a:.3g} A that its contact may {load}",
        drive.relay.place,
        "take a larger relay, or let a pulse switch do the switching",
    )


def _supply_findings(state: SupplyState) -> Iterator[Finding]:
    supply = state.supply
    usable_a = (supply.usable_ua + supply.always_ua) / MILLION
    if state.peak_a > usable_a:
        yield Finding(
            Severity.ERROR,
            "over-current",
            f"supply {supply.name} is asked for {state.peak_a:.3g} A, {state.peak_a - usable_a:.3g}"
            f" A more than the {usable_a:.3g} A that its limit less its margin leaves",
            supply.place,
            f"write `limit {_limit_a(state):g} A` or more, if the supply can give that; or take "
            "coils of more resistance",
        )
    yield from _touchable(supply)


def _limit_a(state: SupplyState) -> float:
    """The limit that leaves the peak after the margin, rounded up to hundredths."""
    with_margin = state.peak_a * (1 + state.supply.margin_ppm / MILLION)
    return math.ceil(with_margin * 100 - 1e-6) / 100


def _touchable(supply: Supply) -> Iterator[Finding]:
    volts = supply.voltage_mv / 1000
    if volts > WET_V:
        over = volts - (DRY_V if volts > DRY_V else WET_V)
        where = "" if volts > DRY_V else " where it may be wet"
        yield _warning(
            "high-voltage",
            f"supply {supply.name} has {volts:g} V, {over:g} V more than may be touched{where}",
            supply.place,
            f"keep to extra-low voltage: {EXTRA_LOW}; local codes and licensed practice decide",
        )
