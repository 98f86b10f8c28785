"""The plans of a programme: its frames are planned jointly, each grid by itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.solver.conflicts import Unreachable, find_conflicts
from seqc.solver.joint import JointSearch, Show
from seqc.solver.load_clock import LoadClock
from seqc.solver.needs import LaneNeeds, needs_of
from seqc.solver.objective import Objective
from seqc.solver.plan import FramePlan, GridPlan, ProgrammePlan
from seqc.solver.positions import UNKNOWN, Positions
from seqc.solver.quick_line import quick_line


@dataclass(frozen=True)
class _GridPlans:
    """The plans of one grid by the number of the frame; `closes` where the last one is `again`."""

    plans: dict[int, GridPlan]
    again: GridPlan | None
    exact: bool


def plan_programme(
    machine: Machine,
    frames: Sequence[Frame],
    start: Positions,
    *,
    repeat: bool = False,
    clock: LoadClock | None = None,
    objective: Objective = Objective.LOAD_TIME,
) -> ProgrammePlan:
    """The plans of frames in order, with as few pulses in all as the order of passes allows.

    With a `clock`, and load time as the objective, each frame is loaded as soon as can be from
    where the one before it ends, and pulses decide among equals.

    The first frame is loaded whole, the others where they differ. Where the programme repeats, the
    pulses of a round count first; a grid that comes in later than the first frame is then loaded
    whole, with all its selectors set, whenever its first glyph comes. Raises Unreachable at the
    first frame that can't be shown.
    """
    _check(machine, frames)
    timer = clock if objective is Objective.LOAD_TIME else None
    grids = [
        _plan_grid(needs_of(machine, grid.name), frames, start, repeat, timer)
        for grid in machine.grids
        if any(glyph.grid == grid.name for frame in frames for glyph in frame)
    ]
    plans = tuple(
        _frame_plan(frame, [grid.plans.get(number) for grid in grids])
        for number, frame in enumerate(frames)
    )
    again = _frame_plan(frames[0], [grid.again for grid in grids]) if repeat and frames else None
    plan = ProgrammePlan(plans, again)
    exact = all(grid.exact for grid in grids)
    return ProgrammePlan(plans, again, plan.pulses if exact else _gate_pulses(plan))


def _check(machine: Machine, frames: Sequence[Frame]) -> None:
    fine: set[int] = set()
    for frame in frames:
        new = [glyph for glyph in frame if id(glyph) not in fine]
        conflicts = tuple(found for glyph in new for found in find_conflicts(machine, glyph))
        if conflicts:
            raise Unreachable(frame, conflicts)
        fine.update(map(id, new))


def _plan_grid(
    lane: LaneNeeds,
    frames: Sequence[Frame],
    start: Positions,
    repeat: bool,
    clock: LoadClock | None,
) -> _GridPlans:
    name = lane.lane.grid.name
    glyphs = {n: glyph for n, frame in enumerate(frames) for glyph in frame if glyph.grid == name}
    numbers = list(glyphs)
    shows = _shows(list(glyphs.values()))
    own = start.within(lane.selector_mask)
    closes = repeat and numbers[0] == 0
    closing = Show(glyphs[numbers[0]], shows[-1].glyph)
    if clock is not None:
        first = own if closes or not repeat else UNKNOWN
        timed, closed = quick_line(lane, shows, first, clock, closing if closes else None)
        return _GridPlans(dict(zip(numbers, timed, strict=True)), closed, exact=False)
    search = JointSearch(lane)
    if closes:
        *steps, last = search.round([*shows, closing], own)
        again = last.plan
    else:
        steps, again = search.line(shows, UNKNOWN if repeat else own), None
    plans = {number: step.plan for number, step in zip(numbers, steps, strict=True)}
    proven = all(plan.proven for plan in {id(plan): plan for plan in plans.values()}.values())
    return _GridPlans(plans, again, search.exact and proven)


def _shows(glyphs: Sequence[Glyph]) -> list[Show]:
    before = (None, *glyphs[:-1])
    return [Show(glyph, shown) for glyph, shown in zip(glyphs, before, strict=True)]


def _frame_plan(frame: Frame, plans: Sequence[GridPlan | None]) -> FramePlan:
    by_grid = {plan.glyph.grid: plan for plan in plans if plan is not None}
    return FramePlan(frame, tuple(by_grid[glyph.grid] for glyph in frame))


def _gate_pulses(plan: ProgrammePlan) -> int:
    """The pulses of all gates: a bound that is always true."""
    selectors = sum(grid.selector_pulses for frame in plan.round for grid in frame)
    return plan.pulses - selectors
