"""What a programme does to its machine in a time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from seqc.face.planning import Planned, plan

if TYPE_CHECKING:
    from seqc.forecast.relief import Relief
    from seqc.forecast.result import Forecast
    from seqc.forecast.wear import PartWear
    from seqc.machine.model import Machine


def foresee(
    machine: Machine,
    planned: Planned,
    duration_us: int,
    ambient_c: float,
    price_per_kwh: float | None = None,
    budget: float | None = None,
    used: Mapping[str, int] | None = None,
) -> Forecast:
    """What a programme does to its machine in a time: wear, heat, energy and its cost, stock.

    `used` tells how often parts have operated before, as `recorded` gives it. Where contacts are
    worn out first the programme is planned once more, with pulse switches.
    """
    from seqc.forecast.currents import bursts_of, peaks_of
    from seqc.forecast.programme import on_times_us, run_of
    from seqc.forecast.result import Conditions, forecast

    timing = planned.built
    run = run_of(machine, timing)
    burst_us, burst_a2s = bursts_of(timing)
    on_us = on_times_us(machine, timing)
    given = Conditions(
        peaks_of(timing), ambient_c, price_per_kwh, budget, burst_a2s, burst_us, on_us
    )
    result = forecast(machine, planned.programme.name, run, duration_us, given, used)
    if not result.parts or not result.parts[0].switched_hours:
        return result
    first = result.parts[0]
    return replace(result, relief=_relief(machine, planned, first, duration_us, used or {}))


def recorded(machine: Machine, record: Path) -> dict[str, int]:
    """How often each part has operated since it was built in, by a record of commissioning.

    Raises InputError where there is no such record of this machine.
    """
    from seqc.commission.operations import operations
    from seqc.commission.record import read

    return operations(machine, read(record, machine.name))


def _relief(
    machine: Machine, planned: Planned, first: PartWear, duration_us: int, used: Mapping[str, int]
) -> Relief:
    """What fails first with pulse switches, and what becomes of the period."""
    from seqc.forecast.programme import run_of
    from seqc.forecast.relief import Relief
    from seqc.forecast.tally import tally
    from seqc.forecast.wear import wear
    from seqc.machine.variants import with_pulse_switches

    switched = with_pulse_switches(machine)
    again = plan(switched, planned.programme, planned.plan.objective.value, "quick")
    parts = wear(switched, tally(switched, run_of(switched, again.timing), duration_us), used)
    periods = planned.timing.period_us, again.timing.period_us
    return Relief(first, parts[0], *periods, again.timing.kept)
