"""What was seen of a machine that may have a fault."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from seqc.faults.trials import BEFORE, Look
from seqc.machine.steptable import StepTable
from seqc.simulator.lanes import UNKNOWN

NOT_LOOKED = "?"
"""A cell that nobody looked at."""


class Sight(NamedTuple):
    """What was seen when a table had been played and all was at rest.

    `seen` has for each grid the kind in each cell, None for nothing there, or NOT_LOOKED; a grid
    that isn't in it wasn't looked at. Tables that nobody looked at are sights too, with nothing in
    `seen`, since they count for what comes after them.
    """

    name: str
    table: StepTable
    seen: Mapping[str, Look]


def fits(predicted: Look, seen: Look) -> bool:
    """Whether a cell may have been seen so, sight by sight, where it would look so.

    What was there before the first table may have been anything, but it was one thing.
    """
    before: set[str | None] = set()
    for would, was in zip(predicted, seen, strict=True):
        if was == NOT_LOOKED or would == UNKNOWN:
            continue
        if would == BEFORE:
            before.add(was)
        elif would != was:
            return False
    return len(before) <= 1
