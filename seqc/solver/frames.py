"""The plan of one frame: reachable or not, the passes of each grid, and the gates of the change."""

from __future__ import annotations

from collections.abc import Mapping

from seqc.machine.effort import NORMAL, Effort, Work
from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.solver.budget import budget
from seqc.solver.load_time.load_timer import LoadTimer
from seqc.solver.load_time_search import LoadTimeSearch
from seqc.solver.loading import Loading, best_loading
from seqc.solver.needs import LaneNeeds, Need, OutOfReachError, needs_of
from seqc.solver.objective import Objective
from seqc.solver.passes.order import EndError
from seqc.solver.plan import PULSES_PER_CYCLE, FramePlan, GridPlan
from seqc.solver.positions import UNKNOWN, Positions


def plan_frame(
    machine: Machine,
    frame: Frame,
    start: Positions,
    *,
    end: Positions | None = None,
    shown: Mapping[str, Glyph] | None = None,
    clock: LoadTimer | None = None,
    objective: Objective = Objective.LOAD_TIME,
    effort: Effort = NORMAL,
) -> FramePlan:
    """The best plan for a frame from the positions at `start`, some of them perhaps unknown.

    `shown` is what each grid shows before; only what is tied by gates to a cell that changes is
    loaded and moved. A grid that isn't in it is loaded whole, and all are without it. `end` has
    positions that must hold after the last pass; where loading the changed parts alone can't bring
    them about, the grid is loaded whole. With a `clock` the load time counts too, before the
    pulses or after them as `objective` says; without one the pulses alone. Raises
    OutOfReachError, and EndError where the end can't be met at all; the end of another plan of the
    same glyph always can.
    """
    seen = shown or {}
    work, glyphs = budget(machine, effort), list(frame)
    plans = []
    for number, glyph in enumerate(glyphs):
        lane, own = needs_of(machine, glyph.grid), work.part(1 / (len(glyphs) - number))
        plan = closed_plan(
            lane, glyph, seen.get(glyph.grid), start, end or UNKNOWN, own.part(0.5 if clock else 1)
        )
        if clock:
            plan = LoadTimeSearch(lane, plan, clock, own).best(end or UNKNOWN, objective)
        plans.append(plan)
    return FramePlan(frame, tuple(plans))


def closed_plan(
    lane: LaneNeeds,
    glyph: Glyph,
    shown: Glyph | None,
    start: Positions,
    end: Positions,
    work: Work,
) -> GridPlan:
    """The best plan for one grid; all of it is loaded where that alone brings the end about."""
    own = lane.selector_mask
    start, end = start.within(own), end.within(own)
    try:
        return plan_glyph(lane, glyph, shown, start, end, work)
    except EndError:
        if shown is None:
            raise
        return plan_glyph(lane, glyph, None, start, end, work)


def plan_glyph(
    lane: LaneNeeds,
    glyph: Glyph,
    shown: Glyph | None,
    start: Positions,
    end: Positions,
    work: Work,
) -> GridPlan:
    """The best plan for one reachable glyph in place of the one that is shown.

    Raises EndError where the end can't be met.
    """
    sets = lane.ties.changed(glyph, shown)
    loading = best_loading(changed_needs(lane, glyph, sets), work, start, end)
    return grid_plan(lane, glyph, sets, loading, start)


def grid_plan(
    lane: LaneNeeds, glyph: Glyph, sets: frozenset[int], loading: Loading, start: Positions
) -> GridPlan:
    """The plan that loads these sets of cells in these passes and then moves them."""
    dumps = lane.ties.stages(lane.lane.dumps, sets)
    transfers = lane.ties.stages(lane.lane.transfers, sets)
    cycles = sum(len(step.operated) for step in loading.passes)
    cycles += sum(len(stage) for stage in (*dumps, *transfers))
    return GridPlan(
        glyph,
        tuple(step.planned(lane.machine.actuators) for step in loading.passes),
        dumps,
        transfers,
        start,
        loading.end,
        loading.passes_bound,
        loading.pulses_bound + PULSES_PER_CYCLE * cycles,
        kept=lane.ties.kept(sets),
    )


def changed_needs(lane: LaneNeeds, glyph: Glyph, sets: frozenset[int]) -> dict[int, Need]:
    """What each metering actuator needs, by index, that is loaded for these sets of cells.

    Raises OutOfReachError where the needs of its cells contradict each other.
    """
    set_of, needs = lane.ties.set_of, lane.needs(glyph.kinds)
    changed = {}
    for group in lane.groups:
        if set_of[group.cells[0]] in sets:
            need = needs[group.actuator.index]
            if not need.possible:
                raise OutOfReachError(glyph.name, group.actuator)
            changed[group.actuator.index] = need
    return changed
