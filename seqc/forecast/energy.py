"""What the coils draw from each supply, and what it costs."""

from __future__ import annotations

import math
from dataclasses import dataclass

from seqc.machine.duty import DutyUse, supply_states
from seqc.machine.electrics import Supply
from seqc.machine.fuse import FuseAdvice, fuse_advice
from seqc.machine.model import Machine

JOULES_PER_KWH = 3_600_000


@dataclass(frozen=True)
class SupplyEnergy:
    """One supply over a time: energy, peak and mean current of all that is told to be on it.

    `fuse` is None while the supply has nothing to do. The largest pulses, or bursts of them that
    leave it no time to cool, come `bursts` times.
    """

    supply: Supply
    joules: float
    peak_a: float
    mean_a: float
    fuse: FuseAdvice | None
    bursts: int = 0

    def cost(self, price_per_kwh: float) -> float:
        """What the energy costs, in the currency of the price."""
        return self.joules / JOULES_PER_KWH * price_per_kwh


def supply_energies(machine: Machine, use: DutyUse) -> tuple[SupplyEnergy, ...]:
    """The energy of each supply under a use."""
    return tuple(
        SupplyEnergy(
            state.supply,
            state.mean_a * state.supply.voltage_mv / 1000 * use.seconds,
            state.peak_a,
            state.mean_a,
            fuse_advice(state.effective_a, state.pulse_a2s) if state.effective_a else None,
            math.ceil(use.duration_us / use.burst_us) if state.effective_a else 0,
        )
        for state in supply_states(machine, use)
    )
