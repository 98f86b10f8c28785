"""What plans and passes do, by the numbers of their actuators: equal where they do the same."""

from __future__ import annotations

from collections.abc import Hashable

from seqc.solver.plan import FramePlan, GridPlan, Pass


class Actions:
    """Numbers for what plans do; plans of a grid that stand in many frames are read once."""

    def __init__(self) -> None:
        self._numbers: dict[Hashable, int] = {}
        self._read: dict[int, tuple[GridPlan, int]] = {}

    def of(self, plan: FramePlan) -> Hashable:
        """What a plan does, grid by grid."""
        return tuple(self._of_grid(part) for part in plan)

    def _of_grid(self, part: GridPlan) -> int:
        known = self._read.get(id(part))
        if known is None:
            done = (
                part.glyph.grid,
                tuple(map(action_of_pass, part.passes)),
                tuple(tuple(a.index for a in stage) for stage in part.dumps),
                tuple(tuple(a.index for a in stage) for stage in part.transfers),
            )
            # The plan is kept with its number, so that its id stays its own.
            known = self._read[id(part)] = part, self._numbers.setdefault(done, len(self._numbers))
        return known[1]


def action_of_pass(step: Pass) -> Hashable:
    """What a pass does: the selectors that it sets, and the gates that it operates."""
    moved = tuple((actuator.index, position) for actuator, position in step.set)
    return moved, tuple(gate.index for gate in step.operate)
