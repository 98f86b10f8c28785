"""The plan of one frame: reachable or not, the passes of each grid, and the gates of the change."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Position
from seqc.machine.wiring import Actuator
from seqc.solver.load_time.load_clock import LoadClock
from seqc.solver.load_time.outset import Outset, outset_of
from seqc.solver.load_time.pace import MOST_PAIRS, Timer
from seqc.solver.load_time.quickest import QuickestSearch
from seqc.solver.load_time.reordered import try_orders
from seqc.solver.load_time.section_pace import SectionPace
from seqc.solver.load_time.trials import Trials
from seqc.solver.loading import Loading, LoadPass, best_loading
from seqc.solver.needs import LaneNeeds, Need, needs_of
from seqc.solver.objective import Objective
from seqc.solver.passes.order import EndError
from seqc.solver.plan import PULSES_PER_CYCLE, FramePlan, GridPlan, Pass
from seqc.solver.positions import UNKNOWN, Positions, bits
from seqc.solver.reach.conflicts import Unreachable, find_conflicts
from seqc.solver.sections.rows import rows_of


def plan_frame(
    machine: Machine,
    frame: Frame,
    start: Positions,
    *,
    end: Positions | None = None,
    shown: Mapping[str, Glyph] | None = None,
    clock: LoadClock | None = None,
    objective: Objective = Objective.LOAD_TIME,
) -> FramePlan:
    """The best plan for a frame from the positions at `start`, some of them perhaps unknown.

    `shown` is what each grid shows before; only what is tied by gates to a cell that changes is
    loaded and moved. A grid that isn't in it is loaded whole, and all are without it. `end` has
    positions that must hold after the last pass; where loading the changed parts alone can't bring
    them about, the grid is loaded whole. With a `clock` the load time counts too, before the
    pulses or after them as `objective` says; without one the pulses alone. Raises Unreachable with
    all conflicts of the frame, and EndError where the end can't be met at all; the end of another
    plan of the same glyph always can.
    """
    conflicts = tuple(found for glyph in frame for found in find_conflicts(machine, glyph))
    if conflicts:
        raise Unreachable(frame, conflicts)
    seen = shown or {}
    plans = []
    for glyph in frame:
        lane = needs_of(machine, glyph.grid)
        plan = closed_plan(lane, glyph, seen.get(glyph.grid), start, end or UNKNOWN)
        plans.append(plan if clock is None else timed_plan(lane, plan, end, clock, objective))
    return FramePlan(frame, tuple(plans))


def closed_plan(
    lane: LaneNeeds, glyph: Glyph, shown: Glyph | None, start: Positions, end: Positions
) -> GridPlan:
    """The best plan for one grid; all of it is loaded where that alone brings the end about."""
    own = lane.selector_mask
    start, end = start.within(own), end.within(own)
    try:
        return plan_glyph(lane, glyph, shown, start, end)
    except EndError:
        if shown is None:
            raise
        return plan_glyph(lane, glyph, None, start, end)


def plan_glyph(
    lane: LaneNeeds, glyph: Glyph, shown: Glyph | None, start: Positions, end: Positions
) -> GridPlan:
    """The best plan for one reachable glyph in place of the one that is shown.

    Raises EndError where the end can't be met.
    """
    sets = lane.ties.changed(glyph, shown)
    loading = best_loading(changed_needs(lane, glyph, sets), start, end)
    return grid_plan(lane, glyph, sets, loading, start)


def timed_plan(
    lane: LaneNeeds,
    plan: GridPlan,
    end: Positions | None,
    clock: LoadClock,
    objective: Objective = Objective.LOAD_TIME,
) -> GridPlan:
    """The plan of the same load that is best by the clock; `plan` has the fewest pulses.

    Where ways of a need were left out, its passes stay as they are, held to a bound of the time.
    """
    if not plan.passes:
        return plan
    least_us = load_bound_us(lane, plan, clock) if _leaves_a_choice(lane, plan) else 0
    if clock.load_us(plan)[0] == least_us or not _known_whole(lane, plan):
        return _reordered(lane, plan, end or UNKNOWN, clock, objective, least_us)
    found = _quickest(lane, plan, end, clock, objective).best(least_us)
    if found.least_load_us < found.load_us:
        least_us = least_us or load_bound_us(lane, plan, clock)
    return replace(
        plan,
        passes=tuple(_pass(step, lane.machine.actuators) for step in found.loading.passes),
        end=found.loading.end,
        least_pulses=found.loading.least_pulses + plan.gate_pulses,
        objective=objective,
        load_us=found.load_us,
        least_load_us=max(least_us, found.least_load_us),
    )


def _reordered(
    lane: LaneNeeds,
    plan: GridPlan,
    end: Positions,
    clock: LoadClock,
    objective: Objective,
    least_us: int,
) -> GridPlan:
    """The plan with its passes in an order that takes less time, where one is found."""
    trials = Trials(tuple(_load_pass(plan)), _timer(lane, plan, clock), objective)
    rows = rows_of(_loaded_needs(lane, plan), end.within(lane.selector_mask))
    if rows:
        try_orders(rows, (plan.start, end.within(lane.selector_mask)), trials, least_us)
    load_us, _ = trials.cost if objective is Objective.LOAD_TIME else trials.cost[::-1]
    return replace(
        plan,
        passes=tuple(_pass(step, lane.machine.actuators) for step in trials.best),
        end=trials.best[-1].positions,
        objective=objective,
        load_us=load_us,
        least_load_us=least_us,
    )


def load_outset(
    lane: LaneNeeds, plan: GridPlan, end: Positions, clock: LoadClock
) -> Outset | SectionPace | None:
    """What the plan's load takes at least from any start to an end; None where nothing is known."""
    if not plan.passes:
        return None
    needs = {gate: need.ways for gate, need in _loaded_needs(lane, plan).items()}
    many = any(len(ways) ** 2 > MOST_PAIRS for ways in needs.values())
    if many or not _known_whole(lane, plan):
        return _section_pace(lane, plan, clock)
    return outset_of(needs, len(plan.passes), end, _timer(lane, plan, clock))


def load_bound_us(lane: LaneNeeds, plan: GridPlan, clock: LoadClock) -> int:
    """A bound of the load time that holds however many ways the needs have."""
    pace = _section_pace(lane, plan, clock)
    return pace.least_us(plan.start) if pace else 0


def _section_pace(lane: LaneNeeds, plan: GridPlan, clock: LoadClock) -> SectionPace | None:
    rows = rows_of(_loaded_needs(lane, plan), UNKNOWN)
    return SectionPace(rows, _timer(lane, plan, clock)) if rows else None


def _timer(lane: LaneNeeds, plan: GridPlan, clock: LoadClock) -> Timer:
    """What the clock says of other passes for the plan's load."""

    def whole(passes: Sequence[LoadPass]) -> GridPlan:
        return replace(plan, passes=tuple(_pass(step, lane.machine.actuators) for step in passes))

    return Timer(
        lambda passes, useful_us: clock.load_us(whole(passes), useful_us),
        lambda passes: clock.throw_us(whole(passes)),
        lambda passes: clock.rest_us(whole(passes)),
        clock.alike_above,
    )


def _quickest(
    lane: LaneNeeds,
    plan: GridPlan,
    end: Positions | None,
    clock: LoadClock,
    objective: Objective,
) -> QuickestSearch:
    """The search for the quickest load in place of the plan's."""
    needs = {gate: need.ways for gate, need in _loaded_needs(lane, plan).items()}
    alike = {gate: clock.alike(gate) for gate in needs}
    least_pulses = plan.least_pulses - plan.gate_pulses
    known = Loading(tuple(_load_pass(plan)), plan.end, plan.least_passes, least_pulses)
    own_end = (end or UNKNOWN).within(lane.selector_mask)
    timer = _timer(lane, plan, clock)
    return QuickestSearch(known, needs, alike, (plan.start, own_end), timer, objective)


def _loaded_needs(lane: LaneNeeds, plan: GridPlan) -> dict[int, Need]:
    """The needs of the gates that a plan operates, by index in the order of the lane's groups."""
    gates = {gate.index for step in plan.passes for gate in step.operate}
    every = lane.needs(plan.glyph.kinds)
    return {gate: need for gate, need in every.items() if gate in gates}


def _known_whole(lane: LaneNeeds, plan: GridPlan) -> bool:
    """Whether no way was left out of the needs of the gates that a plan operates."""
    return all(need.whole for need in _loaded_needs(lane, plan).values())


def _leaves_a_choice(lane: LaneNeeds, plan: GridPlan) -> bool:
    """Whether some need of the gates that a plan operates comes in several ways."""
    return any(len(need.ways) > 1 for need in _loaded_needs(lane, plan).values())


def _load_pass(plan: GridPlan) -> Iterator[LoadPass]:
    positions = plan.start
    for step in plan.passes:
        known = sum(1 << actuator.index for actuator, _ in step.set)
        thrown = sum(1 << actuator.index for actuator, at in step.set if at is Position.THROWN)
        positions = positions.then(Positions(known, thrown))
        yield LoadPass(known, positions, tuple(gate.index for gate in step.operate))


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
        tuple(_pass(step, lane.machine.actuators) for step in loading.passes),
        dumps,
        transfers,
        start,
        loading.end,
        loading.least_passes,
        loading.least_pulses + PULSES_PER_CYCLE * cycles,
        kept=lane.ties.kept(sets),
    )


def changed_needs(lane: LaneNeeds, glyph: Glyph, sets: frozenset[int]) -> dict[int, Need]:
    """What each metering actuator needs, by index, that is loaded for these sets of cells."""
    set_of, needs = lane.ties.set_of, lane.needs(glyph.kinds)
    return {
        group.actuator.index: needs[group.actuator.index]
        for group in lane.groups
        if set_of[group.cells[0]] in sets
    }


def _pass(step: LoadPass, actuators: tuple[Actuator, ...]) -> Pass:
    moved = tuple(
        (actuators[index], position)
        for index in bits(step.pulsed)
        if (position := step.positions.of(index)) is not None
    )
    return Pass(moved, tuple(actuators[index] for index in step.operated))
