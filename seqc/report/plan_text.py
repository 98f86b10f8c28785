"""A plan as text for people."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from seqc.machine.glyphs import Programme
from seqc.machine.model import Machine
from seqc.machine.parts import Grid
from seqc.machine.wording import amount_of
from seqc.report.pictures import beside, legend, picture, signs_of
from seqc.schedule.frame import FrameTiming
from seqc.schedule.timing import ProgrammeTiming
from seqc.solver.cost import Cost
from seqc.solver.objective import Objective
from seqc.solver.plan import FramePlan, GridPlan, Pass, ProgrammePlan


def frame_lines(machine: Machine, plan: FramePlan) -> Iterator[str]:
    """The picture of each grid of a frame, its passes beside it; of several each is named."""
    for grid_plan in plan:
        lane = machine.lane_of(grid_plan.glyph.grid)
        if len(machine.lanes) > 1:
            yield f"  {lane.grid.name}"
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
    if plan.passes and plan.kept:
        yield f"{amount_of(len(plan.kept), 'cell')} unchanged: not loaded, not moved"


def _sets(step: Pass) -> str:
    words = [f"{actuator.name} {position.value}" for actuator, position in step.set]
    return "set " + ", ".join(words) if words else "set nothing"


def _names(actuators: tuple[Any, ...]) -> str:
    return ", ".join(actuator.name for actuator in actuators)


def ms(microseconds: int) -> str:
    """A time in milliseconds, with as many places as it has."""
    return f"{microseconds / 1000:.3f}".rstrip("0").rstrip(".") + " ms"


def plan_lines(
    machine: Machine, programme: Programme, plan: ProgrammePlan, timing: ProgrammeTiming
) -> Iterator[str]:
    """Every frame with its picture, its passes and its times, then the whole."""
    yield legend(machine)
    for number, (frame, frame_timing) in enumerate(zip(plan.plans, timing.frames, strict=True), 1):
        yield ""
        yield f"{number}. {frame.frame.name!r}: {_summary(frame, frame_timing)}"
        yield from frame_lines(machine, frame)
    yield ""
    if plan.again is not None and timing.again is not None:
        yield f"round again to {plan.again.frame.name!r}: {_summary(plan.again, timing.again)}"
    yield f"{amount_of(len(plan.plans), 'frame')}; {period_words(programme, timing)}"
    yield f"planned for the fewest passes, then {plan.objective.value}: {whole_words(plan)}"


def whole_words(plan: ProgrammePlan) -> str:
    """What a run or round of all frames takes, and that it is proven best or its bounds."""
    whole = "a run" if plan.again is None else "a round"
    proof = "proven best" if plan.proven else f"at best {_cost_words(plan, plan.least)}"
    return f"{_cost_words(plan, plan.cost)} {whole} ({proof})"


def _cost_words(plan: ProgrammePlan, cost: Cost) -> str:
    pulses = amount_of(cost.pulses, "pulse")
    loads = f"loads of {ms(cost.longest_us)} or less, {ms(cost.load_us)} in all"
    if plan.objective is Objective.PULSES:
        return f"{pulses}, and {loads}"
    return f"{loads}, and {pulses}"


def _summary(plan: FramePlan, timing: FrameTiming) -> str:
    passes = max((len(grid.passes) for grid in plan), default=0)
    return (
        f"{passes_words(passes)}, {amount_of(plan.pulses, 'pulse')} ({proof_words(plan)}), "
        f"load {ms(timing.load_time_us)}, change {ms(timing.change_us)}"
    )


def proof_words(plan: FramePlan) -> str:
    """That a plan is proven best, or the bounds of what is not."""
    if plan.proven:
        return "proven best"
    bounds: list[str] = []
    for grid in plan:
        if grid.least_passes < len(grid.passes):
            bounds.append(passes_words(grid.least_passes))
        if grid.least_load_us is not None and grid.least_load_us != grid.load_us:
            bounds.append(f"load {ms(grid.least_load_us)}")
        if grid.least_pulses < grid.pulses:
            bounds.append(amount_of(grid.least_pulses, "pulse"))
    return f"at best {', '.join(bounds)}"


def passes_words(count: int) -> str:
    """A count of passes with its noun."""
    return "1 pass" if count == 1 else f"{count} passes"


def period_words(programme: Programme, timing: ProgrammeTiming) -> str:
    """The period against the cadence, and what limits it."""
    proof = "" if timing.proven else f", at best {ms(timing.bound_us)}"
    kept = "is kept" if timing.kept else "is not kept"
    limits = f"; limited by {timing.limits}" if timing.limits else ""
    return f"period {ms(timing.period_us)}{proof}; cadence {ms(programme.every_us)} {kept}{limits}"
