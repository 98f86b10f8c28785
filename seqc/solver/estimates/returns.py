"""Returns: how often an actuator goes back to the side on which it started, and how often away.

Trails may have forgotten where an actuator is. Then a step either finds it in place, or moves it
and takes a pulse that the trail doesn't count.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from seqc.solver.estimates.ascent import Counts, Marks, Steps
from seqc.solver.estimates.trails import Trails

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from seqc.solver.estimates.ascent import Values

    Table = NDArray[np.bool_]

DEAREST = 100.0
"""More pulses than it is worth to go there once more or less."""

FEW = 4_096


@dataclass(frozen=True, slots=True)
class Limit:
    """How often an actuator goes `back`, or else away.

    At least so often where the sign is 1, at most where it is -1.
    """

    actuator: int
    back: bool
    sign: int
    bound: int

    def replaces(self, other: Limit) -> bool:
        """Whether it is of the same kind, and so says all that the other one does."""
        return (self.actuator, self.back, self.sign) == (other.actuator, other.back, other.sign)


class Returns:
    """Which steps lead actuators back, and which away, as far as trails remember.

    Who has no known position at the start counts as at rest there.
    """

    def __init__(self, trails: Trails) -> None:
        side = trails.wants[0] - (trails.wants[0] == 0)
        held, wanted = trails.holds * side, trails.wants * side
        self._lost = held == 0
        self._from: dict[bool, Table] = {True: held < 0, False: held > 0}
        self._to: dict[bool, Table] = {True: wanted > 0, False: wanted < 0}
        self._to[True][0] = False

    def led(self, steps: Steps, actuator: int, back: bool) -> NDArray[np.bool_]:
        """Which of some steps surely lead an actuator back, or away."""
        led: NDArray[np.bool_] = self._from[back][steps.trails, actuator]
        led &= self._to[back][steps.places, actuator]
        return led

    def _perhaps(self, steps: Steps, actuator: int, back: bool) -> NDArray[np.bool_]:
        """Which of some steps lead it there from a position that their trails have forgotten."""
        led: NDArray[np.bool_] = self._lost[steps.trails, actuator]
        led &= self._to[back][steps.places, actuator]
        return led

    def counts(self, steps: Steps, limits: Sequence[Limit]) -> Counts:
        """What some steps count for in limits."""
        import numpy as np

        return Counts(
            _marks([self.led(steps, limit.actuator, limit.back) for limit in limits]),
            _marks([self._perhaps(steps, limit.actuator, limit.back) for limit in limits]),
            np.array([limit.sign for limit in limits], dtype=np.int8),
            np.array([limit.bound for limit in limits], dtype=np.intp),
            np.full(len(limits), DEAREST),
        )

    def times(self, steps: Steps, share: Values) -> Values:
        """How often each actuator goes back at such shares of the steps, as far as they know."""
        import numpy as np

        times: Values = np.zeros(self._to[True].shape[1])
        for first in range(0, len(steps), FEW):
            some = slice(first, first + FEW)
            back = self._from[True][steps.trails[some]] & self._to[True][steps.places[some]]
            times += share[some] @ back
        return times


def _marks(led: Sequence[NDArray[np.bool_]]) -> Marks:
    """The steps that are led, kind by kind."""
    import numpy as np

    steps = [np.flatnonzero(one) for one in led]
    kinds = np.repeat(np.arange(len(led)), [len(numbers) for numbers in steps])
    return Marks(np.concatenate([*steps, np.zeros(0, dtype=np.intp)]), kinds)
