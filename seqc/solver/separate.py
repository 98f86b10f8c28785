"""Plans of frames that are shown in any order: each from anywhere, or from each of the others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from seqc.machine.effort import NORMAL, Effort
from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.machine.progress import counted
from seqc.solver.frames import plan_frame
from seqc.solver.load_time.load_timer import LoadTimer
from seqc.solver.objective import Objective
from seqc.solver.plan import FramePlan
from seqc.solver.positions import UNKNOWN, Positions

Transition = tuple[Frame | None, Frame]
"""The frame that is seen before, None for any, and the frame that comes."""


@dataclass(frozen=True)
class Separate:
    """Plans frames of a machine one by one, with a clock for their load time and an objective."""

    machine: Machine
    clock: LoadTimer | None = None
    objective: Objective = Objective.LOAD_TIME
    effort: Effort = NORMAL

    def plan_each(self, frames: Sequence[Frame]) -> tuple[FramePlan, ...]:
        """A plan for each frame that holds whatever the positions are before it.

        Raises OutOfReachError at the first frame that can't be shown.
        """
        return tuple(self._plan(frame, UNKNOWN) for frame in counted("planning frames", frames))

    def plan_transitions(self, frames: Sequence[Frame]) -> dict[Transition, FramePlan]:
        """A plan for each frame from anywhere, and for each ordered pair of different frames.

        All plans of a frame end in the positions in which its plan from anywhere does, so that any
        of them can be followed by any transition from it. Raises OutOfReachError.
        """
        plans: dict[Transition, FramePlan] = {}
        for frame, plan in zip(frames, self.plan_each(frames), strict=True):
            plans[None, frame] = plan
        pairs = [(seen, coming) for seen in frames for coming in frames if seen != coming]
        for seen, coming in counted("planning transitions", pairs):
            plans[seen, coming] = self._transition(plans, seen, coming)
        return plans

    def _transition(
        self, plans: dict[Transition, FramePlan], seen: Frame, coming: Frame
    ) -> FramePlan:
        shown: dict[str, Glyph] = {glyph.grid: glyph for glyph in seen}
        start, end = plans[None, seen].end, plans[None, coming].end
        return self._plan(coming, start, end, shown)

    def _plan(
        self,
        frame: Frame,
        start: Positions,
        end: Positions | None = None,
        shown: dict[str, Glyph] | None = None,
    ) -> FramePlan:
        return plan_frame(
            self.machine,
            frame,
            start,
            end=end,
            shown=shown,
            clock=self.clock,
            objective=self.objective,
            effort=self.effort,
        )
