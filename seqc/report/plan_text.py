"""A plan as text for people and as one JSON document."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from seqc.machine.model import Machine
from seqc.machine.parts import Grid
from seqc.report.pictures import beside, picture, signs_of
from seqc.solver.plan import FramePlan, GridPlan, Pass


def frame_lines(machine: Machine, plan: FramePlan) -> Iterator[str]:
    """The picture of each grid of a frame, its passes beside it."""
    for grid_plan in plan:
        lane = machine.lane_of(grid_plan.glyph.grid)
        yield from beside((_picture(machine, lane.grid, grid_plan), list(_steps(grid_plan))))


def _picture(machine: Machine, grid: Grid, plan: GridPlan) -> list[str]:
    return ["  " + line for line in picture(grid, plan.glyph.kinds, signs_of(machine))]


def _steps(plan: GridPlan) -> Iterator[str]:
    if not plan.passes:
        yield "already seen: nothing moves"
    for number, step in enumerate(plan.passes, 1):
        yield f"pass {number}: {_sets(step)}; cycle {_names(step.operate)}"
    for stage in (*plan.dumps, *plan.transfers):
        yield f"then cycle {_names(stage)}"


def _sets(step: Pass) -> str:
    words = [f"{actuator.name} {position.value}" for actuator, position in step.set]
    return "set " + ", ".join(words) if words else "set nothing"


def _names(actuators: tuple[Any, ...]) -> str:
    return ", ".join(actuator.name for actuator in actuators)


def ms(microseconds: int) -> str:
    """A time in milliseconds, with as many places as it has."""
    return f"{microseconds / 1000:.3f}".rstrip("0").rstrip(".") + " ms"


def pass_document(plan: GridPlan, step: Pass) -> dict[str, Any]:
    """One pass for JSON: what to set, and which metering gates to operate."""
    return {
        "grid": plan.glyph.grid,
        "set": {actuator.name: position.value for actuator, position in step.set},
        "operate": [actuator.name for actuator in step.operate],
    }


def frame_document(plan: FramePlan) -> dict[str, Any]:
    """One frame for JSON, without its times."""
    return {
        "glyph": plan.frame.name,
        "passes": [pass_document(grid, step) for grid in plan for step in grid.passes],
        "pulses": plan.pulses,
        "proven": plan.proven,
        "least_passes": {grid.glyph.grid: grid.least_passes for grid in plan},
        "least_pulses": sum(grid.least_pulses for grid in plan),
    }
