"""What needs ask of the trajectory of one actuator."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from seqc.machine.parts import Position
from seqc.solver.positions import Positions
from seqc.solver.trajectories.trajectory import Trajectories, Trajectory
from seqc.solver.ways import Ways, actuators_in

FULFILLED = 0x80
"""As if there were one more pass, in which everything holds."""

ALL = 0xFF

Passes = NDArray[np.uint8]
"""Bit sets of up to seven passes."""


def columns_of(needs: Sequence[Ways]) -> list[tuple[int, Positions]]:
    """A column for each way of each need, with the number of the need."""
    return [(number, way) for number, ways in enumerate(needs) for way in ways]


class Asked:
    """The needs that speak of an actuator, and what its trajectories leave of them.

    `columns` are those of all their ways; `holds` has for each trajectory, a row each, in which
    passes such a way may hold as far as the actuator goes.
    """

    def __init__(self, index: int, needs: Sequence[Ways], trajectories: Trajectories) -> None:
        concerned = [bool(actuators_in(ways) >> index & 1) for ways in needs]
        own = [
            (column, number, way)
            for column, (number, way) in enumerate(columns_of(needs))
            if concerned[number]
        ]
        self.pulses = trajectories.pulses
        self.columns = np.array([column for column, _, _ in own], np.intp)
        numbers = [number for _, number, _ in own]
        self._firsts = np.flatnonzero(np.diff(numbers, prepend=-1))
        self.holds: Passes = np.array(
            [
                [_passes(trajectory, way.of(index)) for _, _, way in own]
                for trajectory in trajectories.trajectories
            ],
            np.uint8,
        )

    def allowed(self, open_to: Passes) -> NDArray[np.bool_]:
        """For choices, a row each, which trajectories leave each of these needs a pass."""
        open_here = open_to[:, self.columns]
        found = np.empty((len(open_to), len(self.holds)), bool)
        for number, holds in enumerate(self.holds):
            left = np.logical_or.reduceat(open_here & holds, self._firsts, axis=1)
            found[:, number] = left.all(axis=1)
        return found


def _passes(trajectory: Trajectory, wanted: Position | None) -> int:
    """The bit set of passes in which a trajectory has a position; all if none is wanted."""
    if wanted is None:
        return ALL
    return FULFILLED | sum((at is wanted) << number for number, at in enumerate(trajectory))
