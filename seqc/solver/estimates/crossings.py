"""Crossings: who is wanted elsewhere than at the start must leave the start's position once.

A history may have forgotten where an actuator is, but that it crosses at least once is known. So a
part of a pulse is prepaid for each actuator, and a step in which it leaves the position of the
start costs so much less. A way that crosses once costs the same as before, one that crosses oftener
less, and in a bound an actuator that its histories have forgotten counts with what is prepaid.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from seqc.solver.estimates.ascent import Counts, Marks, Steps
from seqc.solver.estimates.histories import Histories

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


class Crossings:
    """The actuators that some place wants elsewhere than the start, by number."""

    def __init__(self, histories: Histories) -> None:
        self._histories = histories
        demands = histories.demands
        self._actuators: NDArray[np.bool_] = (demands * demands[0] < 0).any(axis=0)

    @property
    def count(self) -> int:
        """How many they are."""
        return int(self._actuators.sum())

    def keep(self, some: NDArray[np.bool_]) -> None:
        """Leave out the others."""
        self._actuators[self._actuators] = some
        self.__dict__.pop("far", None)

    @cached_property
    def far(self) -> NDArray[np.bool_]:
        """For each place, which it wants elsewhere than at the start."""
        demands = self._histories.demands[:, self._actuators]
        opposed: NDArray[np.bool_] = demands * demands[0] < 0
        return opposed

    @property
    def near(self) -> NDArray[np.bool_]:
        """For each history, which it knows to be as at the start."""
        holds = self._histories.holds[:, self._actuators]
        agreed: NDArray[np.bool_] = holds * self._histories.demands[0, self._actuators] > 0
        return agreed

    def savings(self, prepaid: NDArray[np.int32]) -> NDArray[np.int32]:
        """How much of what is prepaid each step from a history to a place spends."""
        import numpy as np

        some = np.flatnonzero(prepaid)
        near = self.near[:, some] * prepaid[some].astype(np.float32)
        spent: NDArray[np.int32] = (near @ self.far[:, some].T.astype(np.float32)).astype(np.int32)
        return spent

    def counts(self, steps: Steps) -> Counts:
        """The crossings of some steps: at least one for each actuator, at most a pulse prepaid."""
        import numpy as np

        crossings = Marks(*np.nonzero(self.near[steps.histories] & self.far[steps.places]))
        return Counts(crossings, self.count)
