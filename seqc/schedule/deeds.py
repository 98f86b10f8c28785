"""What plans and passes do, by the numbers of their actuators: equal where they do the same."""

from __future__ import annotations

from collections.abc import Hashable

from seqc.solver.plan import FramePlan, Pass


def deed_of(plan: FramePlan) -> Hashable:
    """What a plan does, grid by grid."""
    return tuple(
        (
            part.glyph.grid,
            tuple(map(deed_of_pass, part.passes)),
            tuple(tuple(a.index for a in stage) for stage in part.dumps),
            tuple(tuple(a.index for a in stage) for stage in part.transfers),
        )
        for part in plan
    )


def deed_of_pass(step: Pass) -> Hashable:
    """What a pass does: the selectors that it sets, and the gates that it operates."""
    moved = tuple((actuator.index, position) for actuator, position in step.set)
    return moved, tuple(gate.index for gate in step.operate)
