"""A plan as one JSON document."""

from __future__ import annotations

from typing import Any

from seqc.schedule.frame import FrameTiming
from seqc.schedule.timing import ProgrammeTiming
from seqc.solver.cost import Cost
from seqc.solver.plan import FramePlan, GridPlan, Pass, ProgrammePlan


def pass_document(plan: GridPlan, step: Pass) -> dict[str, Any]:
    """One pass for JSON: what to set, and which metering gates to cycle."""
    return {
        "grid": plan.glyph.grid,
        "set": {actuator.name: position.value for actuator, position in step.set},
        "cycle": [actuator.name for actuator in step.operate],
    }


def frame_document(plan: FramePlan) -> dict[str, Any]:
    """One frame for JSON, without its times."""
    return {
        "glyph": plan.frame.name,
        "passes": [pass_document(grid, step) for grid in plan for step in grid.passes],
        "unchanged": {grid.glyph.grid: [[c.row, c.column] for c in grid.kept] for grid in plan},
        "pulses": plan.pulses,
        "proven": plan.proven,
        "lower_bound_passes": {grid.glyph.grid: grid.passes_bound for grid in plan},
        "lower_bound_pulses": sum(grid.pulses_bound for grid in plan),
    }


def plan_document(plan: ProgrammePlan, timing: ProgrammeTiming) -> dict[str, Any]:
    """A whole plan for JSON."""
    frames = [
        {**frame_document(frame), **_times(frame_timing)}
        for frame, frame_timing in zip(plan.plans, timing.frames, strict=True)
    ]
    again = None
    if plan.again is not None and timing.again is not None:
        again = {**frame_document(plan.again), **_times(timing.again)}
    return {
        "frames": frames,
        "again": again,
        "prefer": plan.objective.value,
        "pulses": plan.pulses,
        "cost": _cost_document(plan.cost),
        "lower_bound": _cost_document(plan.lower_bound),
        "proven": plan.proven,
        "period_us": timing.period_us,
        "lower_bound_period_us": timing.bound_us,
        "cadence_us": timing.cadence_us,
        "cadence_kept": timing.kept,
        "critical_path": timing.limits,
        "critical_chain": [str(link) for link in timing.critical_chain],
    }


def _cost_document(cost: Cost) -> dict[str, int]:
    return {"longest_us": cost.longest_us, "load_us": cost.load_us, "pulses": cost.pulses}


def _times(timing: FrameTiming) -> dict[str, int]:
    return {
        "load_time_us": timing.load_time_us,
        "lower_bound_load_time_us": timing.load_bound_us,
        "change_us": timing.change_us,
    }
