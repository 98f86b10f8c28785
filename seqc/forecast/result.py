"""The whole forecast of a programme over a time."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from seqc.forecast.energy import SupplyEnergy, supply_energies
from seqc.forecast.ink import InkAdvice, ink_advice
from seqc.forecast.misfeeds import MisfeedForecast, misfeeds
from seqc.forecast.relief import Relief
from seqc.forecast.span import lived, priced, spoken
from seqc.forecast.spares import FirstFailure, Spare, first_failure, spares
from seqc.forecast.stock import KindStock, stock_forecast
from seqc.forecast.tally import Tally, tally
from seqc.forecast.usage import Run
from seqc.forecast.wear import PartWear, operations, wear
from seqc.machine.clearance import clearance_findings
from seqc.machine.duty import CoilState, DutyUse, coil_states
from seqc.machine.electric_findings import electric_findings
from seqc.machine.electrics import MILLION
from seqc.machine.findings import Finding, Severity
from seqc.machine.fuse import COOL_S
from seqc.machine.hot import hot_coils, hot_findings
from seqc.machine.model import Machine
from seqc.machine.winding import AMBIENT_C


@dataclass(frozen=True)
class Conditions:
    """What the forecast takes for granted: peaks as scheduled, air, price, and a cost to keep to.

    `peak_ua` has, by supply name, the largest sum of coil currents at one instant, `burst_a2s` the
    I2t of what comes within `burst_us`, `on_us` how long a pulse lasts by actuator index.
    """

    peak_ua: Mapping[str, int] = field(default_factory=dict)
    ambient_c: float = AMBIENT_C
    price_per_kwh: float | None = None
    budget: float | None = None
    burst_a2s: Mapping[str, float] = field(default_factory=dict)
    burst_us: int = COOL_S * MILLION
    on_us: tuple[int, ...] = ()


@dataclass(frozen=True)
class Forecast:
    """What a programme does to its machine in a time, of which `asked_us` are asked for.

    `parts` begin with the one that fails first, `coils` go by actuator index. Everything is taken
    over the time in which the programme runs: `tally.running_us`, shorter than asked for where it
    ends. What falls short in that time is an error among the findings. `relief` tells of pulse
    switches where contacts are worn out first.
    """

    machine: Machine
    programme: str
    every_us: int
    asked_us: int
    tally: Tally
    relay_operations: int
    parts: tuple[PartWear, ...]
    coils: tuple[CoilState, ...]
    supplies: tuple[SupplyEnergy, ...]
    stocks: tuple[KindStock, ...]
    ink: InkAdvice | None
    conditions: Conditions
    findings: tuple[Finding, ...]
    relief: Relief | None = None

    @property
    def misfeeds(self) -> MisfeedForecast | None:
        """What misfeeds do, where any are told."""
        return misfeeds(self.machine, self.tally)

    @property
    def first_failure(self) -> FirstFailure | None:
        """When the first of all parts fails, and which."""
        return first_failure(self.parts)

    @property
    def spares(self) -> tuple[Spare, ...]:
        """What must be at hand of each type of part for the time."""
        return spares(self.parts, self.tally.running_us)

    @property
    def joules(self) -> float:
        """The energy of all coils and their leads."""
        return sum(supply.joules for supply in self.supplies)

    @property
    def cost(self) -> float | None:
        """What that energy costs, if a price is given."""
        price = self.conditions.price_per_kwh
        return None if price is None else sum(supply.cost(price) for supply in self.supplies)


def forecast(
    machine: Machine,
    programme: str,
    run: Run,
    duration_us: int,
    conditions: Conditions | None = None,
    used: Mapping[str, int] | None = None,
) -> Forecast:
    """The forecast of a run of a machine over a time, after so many operations of its parts."""
    given = conditions or Conditions()
    totals = tally(machine, run, duration_us)
    duty = DutyUse(
        totals.running_us,
        totals.pulses,
        given.peak_ua,
        given.ambient_c,
        given.burst_a2s,
        given.burst_us,
        given.on_us,
    )
    parts = wear(machine, totals, used or {})
    supplies = supply_energies(machine, duty)
    stocks = stock_forecast(machine, run, duration_us)
    clearance = clearance_findings(machine.clearance) if machine.clearance else ()
    found = (
        *electric_findings(machine, duty),
        *hot_findings(hot_coils(machine, duty)),
        *clearance,
        *_empty(stocks),
        *_worn(machine, parts),
        *_dear(machine, supplies, given),
    )
    return Forecast(
        machine,
        programme,
        run.every_us,
        duration_us,
        totals,
        operations(machine, totals),
        parts,
        coil_states(machine, duty),
        supplies,
        stocks,
        ink_advice(machine, run),
        given,
        tuple(sorted(found, key=lambda finding: finding.place)),
    )


def _empty(stocks: tuple[KindStock, ...]) -> Iterator[Finding]:
    for kind in stocks:
        if not kind.falls_short or kind.lasting_us is None or kind.item.stock is None:
            continue
        early = spoken(kind.running_us - kind.lasting_us)
        yield Finding(
            Severity.ERROR,
            "empty-magazine",
            f"{kind.item.name} runs out after {spoken(kind.lasting_us)}, {early} before the time "
            f"is over: {kind.needed - kind.item.stock:,} more than the stock of "
            f"{kind.item.stock:,} are needed",
            kind.item.place,
            _filling(kind),
        )


def _filling(kind: KindStock) -> str:
    """What helps a stock that is too small: more of it, or used items that come back."""
    if kind.item.recirculate_us is not None:
        return f"stock {kind.needed:,}, or recirculate used items sooner"
    return (
        f"stock {kind.needed:,}; or recirculate used items and write `recirculate 10 s`, how long "
        f"that takes: {kind.least_endless:,} are enough if each is at once"
    )


def _worn(machine: Machine, parts: tuple[PartWear, ...]) -> Iterator[Finding]:
    """One finding for all parts that don't live through the time, named by the first."""
    worn = [part for part in parts if part.share > 1]
    if not worn:
        return
    first = worn[0]
    others = f", and {_parts(len(worn) - 1)} out too" if len(worn) > 1 else ""
    over = first.used + first.operations - first.life
    yield Finding(
        Severity.ERROR,
        "worn-out",
        f"the {first.part} reaches its {first.limit} of {first.life:,}, a statistic, after "
        f"{lived(first.hours)}: {over:,} operation{'s' if over > 1 else ''} more than that in the "
        f"time{others}",
        machine.place,
        "slow the cadence, or plan for the exchange",
    )


def _parts(count: int) -> str:
    return "1 more part wears" if count == 1 else f"{count} more parts wear"


def _dear(
    machine: Machine, supplies: tuple[SupplyEnergy, ...], given: Conditions
) -> Iterator[Finding]:
    if given.price_per_kwh is None or given.budget is None:
        return
    cost = sum(supply.cost(given.price_per_kwh) for supply in supplies)
    if cost > given.budget:
        yield Finding(
            Severity.ERROR,
            "over-budget",
            f"the energy costs {priced(cost)}, {priced(cost - given.budget)} more than the budget "
            f"of {priced(given.budget)}",
            machine.place,
            "slow the cadence or shorten the pulses",
        )
