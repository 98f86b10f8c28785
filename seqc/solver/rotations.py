"""The moves of a grid from glyph to glyph, each of which may follow any that led to its start.

Every move to a glyph ends in the same positions: those of a round through all glyphs, each once,
that is planned jointly. So what is loaded next depends on the two glyphs alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from seqc.machine.effort import Effort
from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.machine.progress import counted
from seqc.solver.budget import budget
from seqc.solver.cost import NOTHING, Cost
from seqc.solver.frames import plan_frame
from seqc.solver.joint.shows import Show, ShowPlans
from seqc.solver.load_time.load_timer import LoadTimer
from seqc.solver.needs import needs_of
from seqc.solver.objective import Objective
from seqc.solver.passes.order import EndError
from seqc.solver.plan import GridPlan
from seqc.solver.positions import UNKNOWN, Positions, home
from seqc.solver.programme import plan_programme

Move = tuple[str | None, str]
"""The names of two glyphs; the first is None where the grid has just come home."""

_Kinds = tuple[str, ...]


@dataclass(frozen=True)
class PlannedMove:
    """The plan of a move, and what one costs at least from any positions to any."""

    plan: GridPlan
    lower_bound: Cost


def plan_moves(
    machine: Machine,
    glyphs: Mapping[str, Glyph],
    moves: Sequence[Move],
    clock: LoadTimer,
    objective: Objective,
    effort: Effort,
) -> dict[Move, PlannedMove]:
    """The plans of moves between glyphs of one grid, by their names.

    All of them together take as much effort as one. Raises OutOfReachError.
    """
    if not moves:
        return {}
    planner = _Planner(machine, glyphs, clock, objective, effort)
    share = replace(effort, plan_nodes=effort.plan_nodes // len(moves))
    return {move: planner.planned(move, share) for move in counted("planning moves", moves)}


class _Planner:
    """The positions in which each picture ends, and the moves between them."""

    def __init__(
        self,
        machine: Machine,
        glyphs: Mapping[str, Glyph],
        clock: LoadTimer,
        objective: Objective,
        effort: Effort,
    ) -> None:
        self.machine, self.glyphs = machine, glyphs
        self.clock, self.objective = clock, objective
        pictures = {glyph.kinds: glyph for glyph in glyphs.values()}
        self.lane = needs_of(machine, next(iter(glyphs.values())).grid)
        work = budget(machine, effort)
        self.bounds = ShowPlans(self.lane, work, work.left // len(pictures), clock, objective)
        self.home = home(len(machine.actuators))
        plans = self._round(list(pictures.values()), effort)
        self.ends = {plan.glyph.kinds: self._own(plan.end) for plan in plans}
        share = replace(effort, plan_nodes=effort.plan_nodes // len(pictures))
        self.firsts = {kinds: self._first(glyph, share) for kinds, glyph in pictures.items()}

    def _own(self, positions: Positions) -> Positions:
        return positions.within(self.lane.selector_mask)

    def _round(self, pictures: Sequence[Glyph], effort: Effort) -> list[GridPlan]:
        """A plan of each picture, in a round of all of them."""
        planned = plan_programme(
            self.machine,
            [Frame((glyph,)) for glyph in pictures],
            self.home,
            repeat=len(pictures) > 1,
            clock=self.clock,
            objective=self.objective,
            effort=effort,
        )
        return [grid for plan in planned.round for grid in plan]

    def _first(self, glyph: Glyph, effort: Effort) -> GridPlan:
        """The plan of a glyph from home.

        Where no load of the whole grid can end as the load of a part did, its own end is that of
        the glyph: any other load of the glyph can meet that.
        """
        try:
            return self._plan(glyph, None, self.home, effort, self.ends[glyph.kinds])
        except EndError:
            plan = self._plan(glyph, None, self.home, effort, UNKNOWN)
            self.ends[glyph.kinds] = self._own(plan.end)
            return plan

    def planned(self, move: Move, effort: Effort) -> PlannedMove:
        """The plan of one move."""
        before, after = move
        glyph = self.glyphs[after]
        if before is None:
            return PlannedMove(replace(self.firsts[glyph.kinds], glyph=glyph), NOTHING)
        shown = self.glyphs[before]
        show = Show(glyph, shown)
        lower_bound = NOTHING
        if self.bounds.changes(show):
            lower_bound = self.bounds.lower_bound(show, UNKNOWN, UNKNOWN)
        start, end = self.ends[shown.kinds], self.ends[glyph.kinds]
        return PlannedMove(self._plan(glyph, shown, start, effort, end), lower_bound)

    def _plan(
        self,
        glyph: Glyph,
        shown: Glyph | None,
        start: Positions,
        effort: Effort,
        end: Positions,
    ) -> GridPlan:
        frame = plan_frame(
            self.machine,
            Frame((glyph,)),
            start,
            end=end,
            shown={shown.grid: shown} if shown else None,
            clock=self.clock,
            objective=self.objective,
            effort=effort,
        )
        return frame.grids[0]
