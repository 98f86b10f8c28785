"""The copper of a coil: how its resistance grows, how a pulse heats it, what its class allows."""

from __future__ import annotations

import math
from dataclasses import dataclass

from seqc.machine.wire import RESISTIVITY_OHM_MM2_PER_M

ZERO_RESISTANCE_K = 234.5
"""Copper's resistance falls on a line that meets zero at -234.5 C (IEC 60028)."""

SPECIFIC_HEAT_J_PER_KG_K = 385.0
"""Copper, handbook value."""

DENSITY_KG_PER_M3 = 8890.0
"""Annealed copper at 20 C (IEC 60028)."""

REFERENCE_C = 20.0
"""The temperature at which resistances are declared."""

AMBIENT_C = 40.0
"""The air around a coil unless told otherwise: the warm end of ordinary rooms and cases."""

CLASS_LIMIT_C = {"Y": 90, "A": 105, "E": 120, "B": 130, "F": 155, "H": 180}
"""Thermal classes of insulation and their temperatures (IEC 60085)."""


@dataclass(frozen=True, slots=True)
class Winding:
    """What is known of a coil's copper besides its resistance; None where it isn't known.

    The part moves for certain from `pull_in_ua` on. `copper_mg` is the mass of the winding,
    `thermal_class` a letter of IEC 60085, `rise_mk_per_w` the steady rise above the air around it
    for each watt.
    """

    pull_in_ua: int | None = None
    copper_mg: int | None = None
    thermal_class: str | None = None
    rise_mk_per_w: int | None = None

    @property
    def limit_c(self) -> int | None:
        """The highest temperature that its insulation bears for its life."""
        return CLASS_LIMIT_C.get(self.thermal_class or "")


UNKNOWN_WINDING = Winding()


def warmth_factor(temperature_c: float, reference_c: float = REFERENCE_C) -> float:
    """Resistance at one temperature over that at another (IEC 60028)."""
    return (temperature_c + ZERO_RESISTANCE_K) / (reference_c + ZERO_RESISTANCE_K)


def rise_by_resistance_k(cold_ohm: float, hot_ohm: float, cold_c: float = REFERENCE_C) -> float:
    """How much warmer a winding is than when its cold resistance was taken (IEC 60034-1)."""
    return (cold_c + ZERO_RESISTANCE_K) * (hot_ohm - cold_ohm) / cold_ohm


def adiabatic_rise_k(energy_j: float, copper_kg: float) -> float:
    """How much an energy warms a mass of copper that has no time to pass it on."""
    return energy_j / (copper_kg * SPECIFIC_HEAT_J_PER_KG_K)


def adiabatic_rate_k_per_s(density_a_per_mm2: float) -> float:
    """How fast a current density warms copper at 20 C: J^2 rho / (c d)."""
    ohm_m = RESISTIVITY_OHM_MM2_PER_M * 1e-6
    amperes_per_m2 = density_a_per_mm2 * 1e6
    return amperes_per_m2**2 * ohm_m / (SPECIFIC_HEAT_J_PER_KG_K * DENSITY_KG_PER_M3)


def rated_rise_k_per_w(cold_w: float, duty: float, limit_c: float) -> float:
    """The steady rise for each watt of a coil that just meets its limit at its rated duty.

    A coil on rated voltage for the share `duty` of the time may be taken to reach its class
    temperature in air of `AMBIENT_C`, where it draws less than the `cold_w` that it draws at 20 C
    (power as 1/d: common practice, no source).
    """
    return (limit_c - AMBIENT_C) * warmth_factor(limit_c) / (cold_w * duty)


def steady_c(cold_w: float, rise_k_per_w: float, ambient_c: float = AMBIENT_C) -> float:
    """The steady temperature of a coil on constant voltage that would draw `cold_w` at 20 C.

    As it warms it draws less: rise x (1 + x / (ambient + 234.5)) = k, a quadratic in the rise x.
    """
    first_guess_k = rise_k_per_w * cold_w / warmth_factor(ambient_c)
    slope = 1 / (ambient_c + ZERO_RESISTANCE_K)
    return ambient_c + (math.sqrt(1 + 4 * slope * first_guess_k) - 1) / (2 * slope)


def allowed_voltage_ratio(rated_duty: float, duty: float) -> float:
    """The voltage that heats a coil as much at one duty as its own does at its rated duty.

    Power as 1/d, voltage as 1/sqrt(d) (common practice, no source).
    """
    return math.sqrt(rated_duty / duty)
