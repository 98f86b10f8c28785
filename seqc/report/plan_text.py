"""A plan as text for people."""

from __future__ import annotations

import json
from collections.abc import Iterator

from seqc.machine.glyphs import Frame, Programme
from seqc.machine.model import Machine
from seqc.machine.parts import Grid, Position
from seqc.machine.wording import amount_of
from seqc.report.pictures import beside, legend, picture, toned_signs
from seqc.report.words import actuators_words, asked, folded, frames_words, ms, table
from seqc.schedule.frame import FrameTiming
from seqc.schedule.pulses import in_order
from seqc.schedule.timing import ProgrammeTiming
from seqc.solver.cost import Cost
from seqc.solver.objective import Objective
from seqc.solver.plan import FramePlan, GridPlan, Pass, ProgrammePlan

MOST_FRAMES = 100
"""So many frames are drawn unless more are asked for."""


def frame_lines(machine: Machine, plan: FramePlan) -> Iterator[str]:
    """The picture of each grid of a frame, its passes beside it; of several each is named."""
    for grid_plan in plan:
        lane = machine.lane_of(grid_plan.glyph.grid)
        if len(machine.lanes) > 1:
            yield f"  {lane.grid.name}"
        yield from beside((_picture(machine, lane.grid, grid_plan), list(_steps(grid_plan))))


def _picture(machine: Machine, grid: Grid, plan: GridPlan) -> list[str]:
    return ["  " + line for line in picture(grid, plan.glyph.kinds, toned_signs(machine))]


def _steps(plan: GridPlan) -> Iterator[str]:
    """What each pass sets, one position a line, and which gates it cycles."""
    if not plan.passes:
        yield "already seen: nothing moves"
    rows = [row for number, step in enumerate(plan.passes, 1) for row in _pass_rows(number, step)]
    yield from table(rows, inset=0)
    for stage in (*plan.dumps, *plan.transfers):
        yield f"then     cycle {actuators_words(stage)}"
    if plan.passes and plan.kept:
        yield f"{amount_of(len(plan.kept), 'cell')} unchanged: not loaded, not moved"


def _pass_rows(number: int, step: Pass) -> Iterator[tuple[str, str, str]]:
    sets = [_set_words(step, position) for position in (Position.THROWN, Position.REST)]
    words = [each for each in sets if each] or ["selectors in place"]
    heads = [f"pass {number}", *([""] * len(words))]
    cycles = [*([""] * (len(words) - 1)), f"cycle {actuators_words(step.operate)}"]
    yield from zip(heads, words, cycles, strict=False)


def _set_words(step: Pass, position: Position) -> str:
    moved = [actuator for actuator, at in step.set if at is position]
    return f"{actuators_words(moved)} {position.value}" if moved else ""


def plan_lines(
    machine: Machine,
    programme: Programme,
    plan: ProgrammePlan,
    timing: ProgrammeTiming,
    first: int = 1,
    most: int = MOST_FRAMES,
    with_pulses: bool = False,
) -> Iterator[str]:
    """The verdict, then frames with their pictures, passes and times, then the whole.

    At most `most` frames are drawn, from number `first` on; they count from 1. On demand each has
    its pulses with their times, counted from where its load begins.
    """
    drawn = plan.plans[first - 1 : first - 1 + most]
    yield from folded(
        f"{amount_of(len(plan.plans), 'frame')} planned for the fewest passes, then "
        f"{plan.objective.value}, {'proven best' if plan.proven else 'not proven best'}; "
        f"{period_words(programme, timing)}"
    )
    if len(drawn) < len(plan.plans):
        yield frames_words(first, len(drawn), len(plan.plans))
    yield legend(machine)
    for frame, frame_timing in zip(drawn, timing.of_frames(drawn), strict=True):
        yield ""
        yield from folded(f"{quoted(frame.frame)}   {_summary(frame, frame_timing)}")
        yield from frame_lines(machine, frame)
        yield from _pulse_lines(frame_timing) if with_pulses else ()
    yield ""
    if plan.again is not None and timing.again is not None:
        again = _summary(plan.again, timing.again)
        yield from folded(f"repeat, back to {quoted(plan.again.frame)}   {again}")
    yield from folded(whole_words(plan))
    if timing.limits:
        yield from folded(f"critical path: {timing.limits}")


def _pulse_lines(timing: FrameTiming) -> Iterator[str]:
    """Each pulse of a frame by itself: its earliest start, and when it is over at the latest."""
    for pulse in in_order(timing.pulses):
        span = f"{ms(pulse.start_us).rjust(9)} to {ms(pulse.end_us).rjust(9)}"
        yield f"  {span}   {pulse.actuator.name} {pulse.position.value}"


def quoted(frame: Frame) -> str:
    """The name of a frame in quotes, with signs that any screen has."""
    return json.dumps(frame.name)


def whole_words(plan: ProgrammePlan) -> str:
    """What a run or round of all frames takes, and the lower bound where that isn't reached."""
    whole = "a run" if plan.again is None else "a round"
    proof = "" if plan.proven else f"; lower bound: {_cost_words(plan, plan.lower_bound)}"
    return f"{whole}: {_cost_words(plan, plan.cost)}{proof}"


def _cost_words(plan: ProgrammePlan, cost: Cost) -> str:
    pulses = amount_of(cost.pulses, "pulse")
    loads = f"longest load {ms(cost.longest_us)}, all loads {ms(cost.load_us)}"
    return f"{pulses}, {loads}" if plan.objective is Objective.PULSES else f"{loads}, {pulses}"


def _summary(plan: FramePlan, timing: FrameTiming) -> str:
    passes = max((len(grid.passes) for grid in plan), default=0)
    bound = "" if plan.proven else f"   {proof_words(plan)}"
    return (
        f"{passes_words(passes)}   {amount_of(plan.pulses, 'pulse')}   "
        f"load {ms(timing.load_time_us)}   change {ms(timing.change_us)}{bound}"
    )


def proof_words(plan: FramePlan) -> str:
    """That a plan is proven best, or the lower bounds of what is not."""
    if plan.proven:
        return "proven best"
    bounds: list[str] = []
    for grid in plan:
        if grid.passes_bound < len(grid.passes):
            bounds.append(passes_words(grid.passes_bound))
        if grid.load_bound_us is not None and grid.load_bound_us != grid.load_us:
            bounds.append(f"load {ms(grid.load_bound_us)}")
        if grid.pulses_bound < grid.pulses:
            bounds.append(amount_of(grid.pulses_bound, "pulse"))
    return f"lower bound {', '.join(bounds)}"


def passes_words(count: int) -> str:
    """A count of passes with its noun."""
    return "1 pass" if count == 1 else f"{count} passes"


def period_words(programme: Programme, timing: ProgrammeTiming) -> str:
    """Whether the cadence is kept, and the shortest that is, with its proof or lower bound."""
    cadence = asked(programme.every_us)
    proof = "proven" if timing.proven else f"lower bound {ms(timing.bound_us)}"
    if timing.kept:
        return f"cadence {cadence} kept, shortest {ms(timing.period_us)} ({proof})"
    return f"cadence {cadence} not kept; the shortest that is: {ms(timing.period_us)} ({proof})"
