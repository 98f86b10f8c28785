"""The plans of a programme: its frames are planned jointly, each grid by itself."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import reduce

from seqc.machine.effort import NORMAL, Effort, Work
from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.machine.progress import counted
from seqc.solver.budget import budget
from seqc.solver.cost import NOTHING, Cost
from seqc.solver.joint.chains import Chain, JointSearch
from seqc.solver.joint.shows import Show, ShowPlans
from seqc.solver.load_time.load_timer import LoadTimer
from seqc.solver.load_time_search import LoadTimeSearch
from seqc.solver.needs import LaneNeeds, needs_of
from seqc.solver.objective import Objective
from seqc.solver.plan import FramePlan, GridPlan, ProgrammePlan
from seqc.solver.positions import UNKNOWN, Positions

PLAIN_SHARE = 0.3
"""Where pulses are preferred, such a share of the work goes to a search for pulses alone."""

EACH_SHARE = 3
"""One plan of a show may take such a part of an even share of the work."""


@dataclass(frozen=True)
class _Setting:
    """How the plans of one grid are timed, what is preferred, and the work for so many glyphs."""

    clock: LoadTimer | None
    objective: Objective
    work: Work
    glyphs: int

    @property
    def each(self) -> int:
        """The nodes that may go into one plan."""
        return self.work.left // (EACH_SHARE * self.glyphs)


@dataclass(frozen=True)
class _GridPlans:
    """The plans of one grid by the number of the frame, and the one that closes the round.

    `lower_bound` is what they cost at least.
    """

    plans: dict[int, GridPlan]
    again: GridPlan | None
    lower_bound: Cost


def plan_programme(
    machine: Machine,
    frames: Sequence[Frame],
    start: Positions,
    *,
    repeat: bool = False,
    clock: LoadTimer | None = None,
    objective: Objective = Objective.LOAD_TIME,
    effort: Effort = NORMAL,
) -> ProgrammePlan:
    """The plans of frames in order, chosen jointly for each grid.

    With a `clock`, and load time as the objective, the longest load is as short as the order of
    passes allows, then all together, and pulses decide among equals. With pulses as the objective
    they come first and load times decide among equals. Without a clock pulses alone count. What
    can't be proven within the effort has a bound.

    The first frame is loaded whole, the others where they differ. Where the programme repeats, what
    a round costs counts first; a grid that comes in later than the first frame is then loaded
    whole, with all its selectors set, whenever its first glyph comes. Raises OutOfReachError
    where a glyph can't be shown.
    """
    shown = {id(glyph): glyph.grid for frame in frames for glyph in frame}
    used = Counter(shown.values())
    work = budget(machine, effort)
    grids = []
    names = [grid.name for grid in machine.grids if grid.name in used]
    for name in counted("planning grids", names) if names[1:] else names:
        share = used[name] / used.total()
        setting = _Setting(clock, objective, work.part(share), used.pop(name))
        grids.append(_plan_grid(needs_of(machine, name), frames, start, repeat, setting))
    plans = tuple(
        _frame_plan(frame, [grid.plans.get(number) for grid in grids])
        for number, frame in enumerate(frames)
    )
    again = _frame_plan(frames[0], [grid.again for grid in grids]) if repeat and frames else None
    lower_bound = reduce(Cost.also, (grid.lower_bound for grid in grids), NOTHING)
    return ProgrammePlan(plans, again, lower_bound, objective if clock else Objective.PULSES)


def _plan_grid(
    lane: LaneNeeds,
    frames: Sequence[Frame],
    start: Positions,
    repeat: bool,
    setting: _Setting,
) -> _GridPlans:
    name = lane.lane.grid.name
    glyphs = {n: glyph for n, frame in enumerate(frames) for glyph in frame if glyph.grid == name}
    numbers = list(glyphs)
    clock, objective = setting.clock, setting.objective
    plans = ShowPlans(lane, setting.work, setting.each)
    shows = _shows(list(glyphs.values()))
    changes = [show for show in shows if plans.changes(show)]
    closes = repeat and numbers[0] == 0
    if closes:
        changes.append(Show(glyphs[0], shows[-1].glyph))
    own = UNKNOWN if repeat and not closes else start.within(lane.selector_mask)

    def chain_of(plans: ShowPlans) -> Chain:
        search = JointSearch(plans)
        return search.round(changes, own) if closes else search.line(changes, own)

    if clock is None:
        chain = chain_of(plans)
    else:
        if objective is Objective.PULSES:
            plans.work = setting.work.part(PLAIN_SHARE)
            plain = _timed(lane, chain_of(plans), setting, closes)
        chain = chain_of(ShowPlans(lane, setting.work, setting.each, clock, objective))
        if objective is Objective.PULSES:
            chain = _frugal(chain, plain)
    found = list(chain.plans)
    again = found.pop() if closes else None
    every = dict(zip(numbers, _with_still(plans, shows, found), strict=True))
    return _GridPlans(every, again, chain.lower_bound)


def _frugal(timed: Chain, plain: Chain) -> Chain:
    """The better of two chains, the plain one sought by its pulses alone, with both bounds."""
    best = min(timed, plain, key=lambda chain: chain.cost)
    return replace(best, lower_bound=timed.lower_bound.with_pulses(plain.lower_bound.pulses))


def _timed(lane: LaneNeeds, chain: Chain, setting: _Setting, closes: bool) -> Chain:
    """Plans that were chosen by their pulses, loaded as soon as these, start and end allow."""
    assert setting.clock is not None
    known = {id(plan): plan for plan in chain.plans}
    known = {
        key: LoadTimeSearch(lane, plan, setting.clock, setting.work.at_least(setting.each)).best(
            plan.end, Objective.PULSES
        )
        for key, plan in known.items()
    }
    plans = tuple(known[id(plan)] for plan in chain.plans)
    cost = reduce(Cost.also, (plan.cost for plan in plans[closes:]), NOTHING)
    return Chain(plans, cost, chain.lower_bound)


def _with_still(
    plans: ShowPlans, shows: Sequence[Show], found: Sequence[GridPlan]
) -> Iterator[GridPlan]:
    """The plans of all shows, those included that change nothing."""
    changing = iter(found)
    at = UNKNOWN
    plan: GridPlan | None = None
    still = False
    for show in shows:
        if plans.changes(show):
            plan, still = next(changing), False
        elif plan is None or not still or plan.glyph is not show.glyph:
            plan, still = plans.plan(show, at, UNKNOWN), True
        assert plan is not None
        at = plan.end
        yield plan


def _shows(glyphs: Sequence[Glyph]) -> list[Show]:
    before = (None, *glyphs[:-1])
    return [Show(glyph, shown) for glyph, shown in zip(glyphs, before, strict=True)]


def _frame_plan(frame: Frame, plans: Sequence[GridPlan | None]) -> FramePlan:
    by_grid = {plan.glyph.grid: plan for plan in plans if plan is not None}
    return FramePlan(frame, tuple(by_grid[glyph.grid] for glyph in frame))
