"""Trajectories chosen for some of the actuators, many choices side by side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from seqc.solver.trajectories.asked import Passes

FAR = 1 << 20
NONE = 0xFF
"""Instead of an actuator's pulses where no trajectory leaves every need a pass."""

Indexes = NDArray[np.intp]
Pulses = NDArray[np.int32]


class Choices(NamedTuple):
    """Trajectories chosen for some actuators, in several ways, a row each.

    The passes open to each way, the pulses that each actuator that is left takes at least, the
    pulses so far, the choice before and the trajectory chosen last.
    """

    open_to: Passes
    ahead: NDArray[np.uint8]
    pulses: Pulses
    before: Indexes
    trajectory: Indexes

    @property
    def lower_bound(self) -> Pulses:
        """The pulses that each choice comes to at least, `FAR` and more where it leads nowhere."""
        ahead: Pulses = self.ahead.sum(axis=1, dtype=np.int32)
        nowhere = (self.ahead == NONE).any(axis=1)
        return self.pulses + np.where(nowhere, FAR, ahead)

    def of(self, chosen: Indexes | NDArray[np.bool_] | slice) -> Choices:
        """Some of the choices."""
        return Choices._make(each[chosen] for each in self)

    @classmethod
    def of_all(cls, several: Sequence[Choices]) -> Choices:
        """All of several."""
        return cls._make(map(np.concatenate, zip(*several, strict=True)))

    def merged(self) -> Choices:
        """Of choices that leave the same open the one with the fewest pulses."""
        order = np.argsort(self.pulses, kind="stable")
        rows = np.ascontiguousarray(self.open_to[order])
        whole_rows = rows.view(np.dtype((np.void, rows.shape[1]))).ravel()
        return self.of(order[np.unique(whole_rows, return_index=True)[1]])
