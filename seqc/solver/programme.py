"""The plans of a programme: each frame takes up the positions that the one before it left."""

from __future__ import annotations

from collections.abc import Sequence

from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.solver.frames import plan_frame
from seqc.solver.plan import FramePlan, ProgrammePlan
from seqc.solver.positions import Positions


def plan_programme(
    machine: Machine, frames: Sequence[Frame], start: Positions, *, repeat: bool = False
) -> ProgrammePlan:
    """The plans of frames in order; the first is loaded whole, the others where they differ.

    Raises Unreachable at the first frame that can't be shown.
    """
    plans: list[FramePlan] = []
    shown: dict[str, Glyph] = {}
    for frame in frames:
        plans.append(plan_frame(machine, frame, start, shown=shown))
        start = start.then(plans[-1].end)
        shown.update((glyph.grid, glyph) for glyph in frame)
    if not repeat or not plans:
        return ProgrammePlan(tuple(plans))
    again = plan_frame(machine, frames[0], start, end=plans[0].end, shown=shown)
    return ProgrammePlan(tuple(plans), again)
