"""How a machine is used over a time, and what that does to its coils and supplies."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from seqc.machine.electrics import MILLION, Supply
from seqc.machine.model import Machine
from seqc.machine.transient import Circuit
from seqc.machine.winding import (
    AMBIENT_C,
    adiabatic_rise_k,
    rated_rise_k_per_w,
    steady_c,
    warmth_factor,
)
from seqc.machine.wiring import Actuator


@dataclass(frozen=True)
class DutyUse:
    """What the actuators do in a time, `duration_us` long.

    `pulses` are counted by actuator index. `peak_ua` has, by supply name, the largest sum of coil
    currents at one instant, as the schedule makes it; a supply that is missing there is taken to
    feed its largest coil alone.
    """

    duration_us: int
    pulses: tuple[int, ...]
    peak_ua: Mapping[str, int] = field(default_factory=dict)
    ambient_c: float = AMBIENT_C

    @property
    def seconds(self) -> float:
        """The duration in seconds."""
        return self.duration_us / MILLION


@dataclass(frozen=True)
class CoilState:
    """One actuator's coil under a use; None where the declaration doesn't tell.

    The currents are those of a warm coil. `steady_c` is its temperature after a long time of this
    use, `pulse_rise_k` what one pulse of the greatest length adds.
    """

    actuator: Actuator
    cold: Circuit
    warm: Circuit
    duty: float
    supplied_j: float
    steady_c: float | None
    pulse_rise_k: float | None

    @property
    def reached_a(self) -> float:
        """The current at the end of a pulse."""
        return self.warm.current_a(self.actuator.coil.pulse_us / MILLION)

    @property
    def pulls_in_us(self) -> float | None:
        """When the pull-in current is reached; None if it isn't, or isn't declared."""
        pull_in = self.actuator.coil.winding.pull_in_ua
        seconds = self.warm.reaches_s(pull_in / MILLION) if pull_in is not None else None
        return None if seconds is None else seconds * MILLION


@dataclass(frozen=True)
class SupplyState:
    """What the coils of one supply draw under a use.

    The effective current is an upper bound: the mean of i^2 is no more than peak times mean.
    `pulse_a2s` is the I2t of the peak, held for the longest pulse.
    """

    supply: Supply
    peak_a: float
    mean_a: float
    effective_a: float
    pulse_a2s: float


def circuit_of(actuator: Actuator, temperature_c: float) -> Circuit:
    """The loop of a coil at some temperature, with its leads at 20 C, on its drive's supply."""
    coil = actuator.coil
    ohms = coil.resistance_mohm / 1000 * warmth_factor(temperature_c)
    leads = coil.lead.ohms if coil.lead else 0.0
    volts = actuator.drive.supply.voltage_mv / 1000
    return Circuit(volts, ohms + leads, coil.inductance_uh / MILLION)


def rise_k_per_w(actuator: Actuator) -> float | None:
    """A coil's steady rise for each watt: as declared, or from its rated duty and its class."""
    coil = actuator.coil
    if coil.winding.rise_mk_per_w is not None:
        return coil.winding.rise_mk_per_w / 1000
    if coil.duty_ppm is None or coil.winding.limit_c is None:
        return None
    rated_w = coil.voltage_mv**2 / (coil.resistance_mohm * 1000)
    return rated_rise_k_per_w(rated_w, coil.duty_ppm / MILLION, coil.winding.limit_c)


def coil_state(actuator: Actuator, use: DutyUse) -> CoilState:
    """The state of one actuator's coil under a use."""
    coil = actuator.coil
    cold = circuit_of(actuator, 20.0)
    pulses = use.pulses[actuator.index]
    share = coil.resistance_mohm / 1000 / cold.ohms
    supplied_j = cold.supplied_j(coil.pulse_us / MILLION)
    rise = rise_k_per_w(actuator)
    mean_w = pulses * supplied_j * share / use.seconds
    steady = None if rise is None else steady_c(mean_w, rise, use.ambient_c)
    warm = circuit_of(actuator, use.ambient_c if steady is None else steady)
    longest_j = warm.supplied_j(coil.longest_us / MILLION) * share
    copper = coil.winding.copper_mg
    return CoilState(
        actuator,
        cold,
        warm,
        pulses * coil.pulse_us / use.duration_us,
        supplied_j,
        steady,
        adiabatic_rise_k(longest_j, copper / MILLION) if copper else None,
    )


def coil_states(machine: Machine, use: DutyUse) -> tuple[CoilState, ...]:
    """The states of all coils, by actuator index."""
    return tuple(coil_state(actuator, use) for actuator in machine.actuators)


def supply_states(machine: Machine, use: DutyUse) -> tuple[SupplyState, ...]:
    """The states of all supplies, with their coils cold: that is when they draw most."""
    states = coil_states(machine, use)
    return tuple(_supply_state(supply, states, use) for supply in machine.supplies)


def _supply_state(supply: Supply, states: tuple[CoilState, ...], use: DutyUse) -> SupplyState:
    fed = [state for state in states if state.actuator.drive.supply == supply]
    largest = max((state.actuator.coil.current_ua for state in fed), default=0)
    longest = max((state.actuator.coil.pulse_us for state in fed), default=0) / MILLION
    peak_a = use.peak_ua.get(supply.name, largest) / MILLION
    joules = sum(use.pulses[state.actuator.index] * state.supplied_j for state in fed)
    mean_a = joules / (supply.voltage_mv / 1000) / use.seconds
    return SupplyState(supply, peak_a, mean_a, math.sqrt(peak_a * mean_a), peak_a**2 * longest)
