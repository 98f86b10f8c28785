"""The work that a plan of a machine may take."""

from __future__ import annotations

from seqc.machine.effort import Effort, Work
from seqc.machine.model import Machine

USUAL_CELLS = 24 * 24
"""A grid with more cells gets more work, in proportion."""


def budget(machine: Machine, effort: Effort) -> Work:
    """The work for one plan."""
    most = max(len(grid.cells) for grid in machine.grids)
    return Work(effort.plan_nodes * max(most, USUAL_CELLS) // USUAL_CELLS)
