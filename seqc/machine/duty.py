"""How a machine is used over a time, and what that does to its coils and supplies."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from seqc.machine.electrics import MILLION, Supply
from seqc.machine.fuse import COOL_S
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
    feed its largest coil alone. `on_us` has, by actuator index, how long a pulse lasts in the mean,
    as it is asked for where nothing else is known.
    """

    duration_us: int
    pulses: tuple[int, ...]
    peak_ua: Mapping[str, int] = field(default_factory=dict)
    ambient_c: float = AMBIENT_C
    burst_a2s: Mapping[str, float] = field(default_factory=dict)
    burst_us: int = COOL_S * MILLION
    on_us: tuple[int, ...] = ()

    def lasts_us(self, actuator: Actuator) -> int:
        """How long a pulse of an actuator lasts in the mean."""
        return self.on_us[actuator.index] if self.on_us else actuator.coil.pulse_us

    @property
    def seconds(self) -> float:
        """The duration in seconds."""
        return self.duration_us / MILLION


def at_rest(machine: Machine) -> DutyUse:
    """A machine that stands still in the warmest air."""
    return DutyUse(MILLION, (0,) * len(machine.actuators), ambient_c=machine.hottest_c)


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
    """What is drawn from one supply under a use, by coils, coils of relays and a controller.

    The effective current is an upper bound: the mean of i^2 is no more than peak times mean.
    `pulse_a2s` is the I2t of the peak, held for the longest pulse, or of a whole burst if that is
    more.
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
    on_us = use.lasts_us(actuator)
    supplied_j = cold.supplied_j(on_us / MILLION)
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
        pulses * on_us / use.duration_us,
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
    largest = max((state.actuator.peak_ua for state in fed), default=0)
    longest = max((state.actuator.coil.pulse_us for state in fed), default=0) / MILLION
    always_a = supply.always_ua / MILLION
    peak_a = use.peak_ua.get(supply.name, largest) / MILLION + always_a
    joules = sum(use.pulses[state.actuator.index] * state.supplied_j for state in fed)
    joules += sum(_relay_j(state, supply, use) for state in states)
    mean_a = joules / (supply.voltage_mv / 1000) / use.seconds + always_a
    burst_a2s = max(peak_a**2 * longest, use.burst_a2s.get(supply.name, 0.0))
    return SupplyState(supply, peak_a, mean_a, math.sqrt(peak_a * mean_a), burst_a2s)


def _relay_j(state: CoilState, supply: Supply, use: DutyUse) -> float:
    """What the relays of one actuator take from a supply with their own coils."""
    actuator = state.actuator
    relay = actuator.drive.relay
    if relay is None or relay.coil_supply is None or relay.coil_supply.name != supply.name:
        return 0.0
    on_us = use.lasts_us(actuator) + max(0, relay.operate_us - relay.release_us)
    watts = supply.voltage_mv / 1000 * relay.coil_ua / MILLION
    return use.pulses[actuator.index] * watts * on_us / MILLION
