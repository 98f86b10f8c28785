"""Where one actuator may stand in every one of some passes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise, product

import numpy as np
from numpy.typing import NDArray

from seqc.machine.parts import Position

Trajectory = tuple[Position | None, ...]
"""The position in each pass; None in all of them as long as it isn't known."""

KNOWN = (Position.REST, Position.THROWN)


@dataclass(frozen=True, slots=True)
class Trajectories:
    """All trajectories of one actuator, with the pulses that each takes."""

    trajectories: tuple[Trajectory, ...]
    pulses: NDArray[np.int32]


@lru_cache
def trajectories(start: Position | None, end: Position | None, passes: int) -> Trajectories:
    """The trajectories from a position at the start, if one is known, to one after the last pass.

    What isn't known is set in the first pass or never: setting it later takes no pulse less.
    """
    found: list[Trajectory] = list(product(KNOWN, repeat=passes))
    if start is None:
        found.append((None,) * passes)
    found = [trajectory for trajectory in found if end in (None, trajectory[-1])]
    pulses = [sum(a is not b for a, b in pairwise((start, *trajectory))) for trajectory in found]
    return Trajectories(tuple(found), np.array(pulses, np.int32))
