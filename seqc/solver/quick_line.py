"""The frames of one grid one after the other, each loaded as soon as can be."""

from __future__ import annotations

from collections.abc import Sequence

from seqc.solver.frames import closed_plan, timed_plan
from seqc.solver.joint import Show
from seqc.solver.load_clock import LoadClock
from seqc.solver.needs import LaneNeeds
from seqc.solver.plan import GridPlan
from seqc.solver.positions import UNKNOWN, Positions


def quick_line(
    lane: LaneNeeds,
    shows: Sequence[Show],
    start: Positions,
    clock: LoadClock,
    closing: Show | None,
) -> tuple[list[GridPlan], GridPlan | None]:
    """A plan for each show, and for one that closes the round at the end of the first plan.

    Equal shows from equal positions are planned once.
    """
    known: dict[tuple[int, int, Positions, Positions], GridPlan] = {}

    def planned(show: Show, start: Positions, end: Positions) -> GridPlan:
        key = (id(show.glyph), id(show.shown), start, end)
        if key not in known:
            plan = closed_plan(lane, show.glyph, show.shown, start, end)
            known[key] = timed_plan(lane, plan, end, clock)
        return known[key]

    plans: list[GridPlan] = []
    for show in shows:
        plans.append(planned(show, start, UNKNOWN))
        start = plans[-1].end
    return plans, planned(closing, start, plans[0].end) if closing else None
