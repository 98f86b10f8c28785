"""Where one actuator may stand in every one of some passes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise, product

import numpy as np
from numpy.typing import NDArray

from seqc.machine.parts import Position

Course = tuple[Position | None, ...]
"""The position in each pass; None in all of them as long as it isn't known."""

KNOWN = (Position.REST, Position.THROWN)


@dataclass(frozen=True, slots=True)
class Courses:
    """All courses of one actuator, with the pulses that each takes."""

    courses: tuple[Course, ...]
    pulses: NDArray[np.int32]


@lru_cache
def courses(start: Position | None, end: Position | None, passes: int) -> Courses:
    """The courses from a position at the start, if one is known, to one after the last pass.

    What isn't known is set in the first pass or never: setting it later takes no pulse less.
    """
    found: list[Course] = list(product(KNOWN, repeat=passes))
    if start is None:
        found.append((None,) * passes)
    found = [course for course in found if end in (None, course[-1])]
    pulses = [sum(a is not b for a, b in pairwise((start, *course))) for course in found]
    return Courses(tuple(found), np.array(pulses, np.int32))
