"""The forecast as one JSON document."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from seqc.forecast.energy import SupplyEnergy
from seqc.forecast.ink import InkAdvice
from seqc.forecast.relief import Relief
from seqc.forecast.result import Forecast
from seqc.forecast.stock import KindStock, Load
from seqc.forecast.wear import PartWear
from seqc.machine.duty import CoilState

Document = dict[str, Any]


def forecast_document(result: Forecast, advise: bool = True) -> Document:
    """The forecast in the types of JSON; units are in the names, unknown figures are null.

    Its findings are left out. `advise` adds which kinds had better change places.
    """
    return {
        "machine": result.machine.name,
        "programme": result.programme,
        "duration_us": result.asked_us,
        "running_us": result.tally.running_us,
        "cadence_us": result.every_us,
        "frames": result.tally.frames,
        "pulses": sum(result.tally.pulses),
        "relay_operations": result.relay_operations,
        "parts": [_part(part) for part in result.parts],
        "pulse_switch": _relief(result.relief) if result.relief else None,
        "ambient_c": result.conditions.ambient_c,
        "coils": [_coil(result, state) for state in result.coils],
        "energy_j": result.joules,
        "cost": result.cost,
        "supplies": [_supply(supply) for supply in result.supplies],
        "items": [_kind(kind) for kind in result.stocks],
        "exchange": _exchange(result.ink) if advise else None,
        "misfeeds": asdict(found) if (found := result.misfeeds) else None,
        "first_failure": asdict(first) if (first := result.first_failure) else None,
        "spares": [asdict(spare) for spare in result.spares],
    }


def _part(part: PartWear) -> Document:
    return {
        "part": part.part,
        "limit": part.limit,
        "operations": part.operations,
        "operations_before": part.used,
        "life": part.life,
        "hours": part.hours,
        "hours_with_pulse_switch": part.switched_hours,
    }


def _relief(relief: Relief) -> Document:
    return {
        "first_to_fail": relief.after.part,
        "hours": relief.after.hours,
        "period_us": relief.period_after_us,
        "cadence_kept": relief.kept,
    }


def _coil(result: Forecast, state: CoilState) -> Document:
    index = state.actuator.index
    return {
        "actuator": state.actuator.name,
        "forward_pulses": result.tally.forward[index],
        "reverse_pulses": result.tally.reverse[index],
        "duty": state.duty,
        "reached_a": state.reached_a,
        "pull_in_us": state.pulls_in_us,
        "pulse_j": state.supplied_j,
        "steady_c": state.steady_c,
        "longest_pulse_rise_k": state.pulse_rise_k,
        "class_limit_c": state.actuator.coil.winding.limit_c,
    }


def _supply(supply: SupplyEnergy) -> Document:
    fuse = supply.fuse
    return {
        "supply": supply.supply.name,
        "energy_j": supply.joules,
        "peak_a": supply.peak_a,
        "mean_a": supply.mean_a,
        "fuse_a": fuse.rating_a if fuse else None,
        "fuse_melting_a2s": fuse.melting_a2s if fuse else None,
    }


def _kind(kind: KindStock) -> Document:
    return {
        "item": kind.item.name,
        "used": kind.drawn,
        "stock": kind.item.stock,
        "recirculate_us": kind.item.recirculate_us,
        "lasts_us": kind.lasts_us,
        "lasts_recirculated_us": kind.lasts_recirculated_us,
        "enough_recirculated": kind.least_endless,
        "fill": _sheet(kind.fill),
        "fill_recirculated": _sheet(kind.fill_recirculated),
    }


def _sheet(load: Load) -> list[Document]:
    return [
        {
            "grid": magazine.grid,
            "row": magazine.cell.row,
            "column": magazine.cell.column,
            "count": count,
        }
        for magazine, count in load.items()
    ]


def _exchange(advice: InkAdvice | None) -> Document | None:
    if advice is None:
        return None
    return {
        "kinds": dict(advice.exchange),
        "frames_as_drawn": advice.frames_as_drawn,
        "frames_exchanged": advice.frames_exchanged,
    }
