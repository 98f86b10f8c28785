"""A coil when it is hot: what it still draws, how late it moves, and how long it bears being on.

To first order the force on a plunger, and with it the square of its speed, grows with the current
beyond the one at which it begins to move: it travels for a time that goes as 1/sqrt(I - pull-in).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from seqc.machine.duty import CoilState, DutyUse, coil_states, rise_k_per_w
from seqc.machine.electrics import MILLION
from seqc.machine.findings import Finding, Severity
from seqc.machine.model import Machine
from seqc.machine.transient import Circuit
from seqc.machine.winding import (
    AMBIENT_C,
    REFERENCE_C,
    SPECIFIC_HEAT_J_PER_KG_K,
    ZERO_RESISTANCE_K,
    steady_c,
    warmth_factor,
)
from seqc.machine.wiring import Actuator

BLOWS_WITHIN_S = ((10.0, 0.3), (4.0, 3.0), (2.75, 10.0), (2.1, 120.0))
"""A time-lag fuse has blown for certain at so many times its rating after so long (IEC 60127-2,
from memory); below the last it may carry the current for ever."""


@dataclass(frozen=True, slots=True)
class HotCoil:
    """One actuator's coil at the temperature `hot_c`, with all else on its supply at work.

    `share` is its current over that of a cold coil at its rated voltage. `margin` is by which share
    the current exceeds that of its pull-in, `travel_us` how long it then travels; None where no
    pull-in is told, infinite where it isn't reached. Held on from the hottest air it reaches the
    limit of its class after `held_s`: None where no class or copper is told, infinite if never.
    """

    actuator: Actuator
    hot_c: float
    current_a: float
    share: float
    margin: float | None
    travel_us: float | None
    held_s: float | None

    @property
    def fuse_s(self) -> float | None:
        """When the fuse of its supply has blown for certain if it is held on; None if never."""
        fuse = self.actuator.drive.supply.fuse_ua
        return None if fuse is None else blows_s(self.current_a, fuse / MILLION)


def hot_coil(actuator: Actuator, hot_c: float, hottest_c: float = AMBIENT_C) -> HotCoil:
    """The coil of an actuator at some temperature, in air that is `hottest_c` at most."""
    coil = actuator.coil
    loop = hot_circuit(actuator, hot_c)
    cold_a = coil.current_ua / MILLION
    pull_in = coil.winding.pull_in_ua
    margin = travel = None
    if pull_in is not None:
        margin = loop.final_a * MILLION / pull_in - 1
        spare = loop.final_a - pull_in / MILLION
        cold_spare = cold_a - pull_in / MILLION
        travel = coil.travel_us * math.sqrt(cold_spare / spare) if spare > 0 else math.inf
    held = held_s(actuator, hottest_c)
    return HotCoil(actuator, hot_c, loop.final_a, loop.final_a / cold_a, margin, travel, held)


def hot_circuit(actuator: Actuator, hot_c: float) -> Circuit:
    """The loop of a hot coil on the lowest voltage, less what all others drop on the return.

    They draw what is left of all that the supply may give.
    """
    coil, supply = actuator.coil, actuator.drive.supply
    others_a = max(0, supply.usable_ua - coil.current_ua) / MILLION
    volts = supply.lowest_v - others_a * supply.return_ohms
    ohms = coil.resistance_mohm / 1000 * warmth_factor(hot_c) + _series_ohms(actuator)
    return Circuit(max(volts, 0.0), ohms, coil.inductance_uh / MILLION)


def _series_ohms(actuator: Actuator) -> float:
    """What is in series with a coil: its leads, and the common return."""
    lead = actuator.coil.lead
    return (lead.ohms if lead else 0.0) + actuator.drive.supply.return_ohms


def held_s(actuator: Actuator, ambient_c: float) -> float | None:
    """How long a coil bears its current before its winding passes its class.

    All heat stays in the copper, so it is a lower bound: m c dT = I^2 R dt with I = V / (R + r),
    R as k (T + 234.5) and r in series gives t = m c / V^2 times the integral of R + 2 r + r^2 / R
    over T. It bears it for ever where its steady temperature stays below its class.
    """
    coil = actuator.coil
    limit, copper = coil.winding.limit_c, coil.winding.copper_mg
    if limit is None or copper is None:
        return None
    supply = actuator.drive.supply
    volts = supply.voltage_mv / 1000 * (1 + supply.voltage_tolerance_ppm / MILLION)
    cold, series = coil.resistance_mohm / 1000, _series_ohms(actuator)
    rise = rise_k_per_w(actuator)
    share = cold / (cold + series)
    if rise is not None and steady_c(volts**2 / cold * share**2, rise, ambient_c) <= limit:
        return math.inf
    per_k = cold / (REFERENCE_C + ZERO_RESISTANCE_K)

    def integral(celsius: float) -> float:
        kelvin = celsius + ZERO_RESISTANCE_K
        return per_k * kelvin**2 / 2 + 2 * series * kelvin + series**2 / per_k * math.log(kelvin)

    heat = copper / MILLION * SPECIFIC_HEAT_J_PER_KG_K
    return max(0.0, heat / volts**2 * (integral(limit) - integral(ambient_c)))


def blows_s(current_a: float, rating_a: float) -> float | None:
    """When a time-lag fuse has blown for certain under a current, None if it may never do so."""
    times = current_a / rating_a
    return next((seconds for least, seconds in BLOWS_WITHIN_S if times >= least), None)


def hot_coils(machine: Machine, use: DutyUse) -> tuple[HotCoil, ...]:
    """The hottest coil of each type on each supply under a use, as hot as it gets."""
    hottest: dict[tuple[str, str], CoilState] = {}
    for state in coil_states(machine, use):
        key = (state.actuator.coil.name, state.actuator.drive.supply.name)
        known = hottest.setdefault(key, state)
        if (state.steady_c or 0, state.duty) > (known.steady_c or 0, known.duty):
            hottest[key] = state
    return tuple(
        hot_coil(
            state.actuator,
            use.ambient_c if state.steady_c is None else state.steady_c,
            use.ambient_c,
        )
        for state in hottest.values()
    )


def hot_findings(coils: Iterable[HotCoil]) -> Iterator[Finding]:
    """A warning for each coil that is slower when hot than its travel and tolerance tell."""
    for hot in coils:
        coil, travel = hot.actuator.coil, hot.travel_us
        if travel is None or travel <= coil.travel.most_us:
            continue
        yield Finding(
            Severity.WARNING,
            "hot-travel",
            f"coil {coil.name} gets to {hot.hot_c:.0f} C, where it draws {hot.share:.0%} of its "
            f"current and {_slower(hot)}; declared are {coil.travel.most_us / 1000:g} ms at most",
            coil.place,
            "declare a longer travel or a wider tolerance, or keep the coil cooler",
        )


def _slower(hot: HotCoil) -> str:
    assert hot.travel_us is not None
    if math.isinf(hot.travel_us):
        return "doesn't reach its pull-in current"
    return f"travels for some {hot.travel_us / 1000:.3g} ms, to first order"
