"""The bound by penalties driven on within an effort: longer histories and better penalties."""

from __future__ import annotations

from collections.abc import Sequence

from seqc.machine.effort import Work
from seqc.solver.estimates.ascent import Stage
from seqc.solver.estimates.histories import histories_of
from seqc.solver.estimates.penalties import Penalties
from seqc.solver.positions import Positions

FIRST_STAGES = (
    Stage(60, 40, (2, 1), (0.5, 0.3)),
    Stage(80, 12, (1, 0.5), (0.3, 0.2)),
    Stage(80, 8, (0.5, 0.2), (0.2, 0.1)),
    Stage(80, 4, (0.2, 0.1), (0.1, 0.05)),
    Stage(80, 3, (0.1, 0.05), (0.05, 0.02)),
)
STAGES = (Stage(15, 1, (0.06, 0.04), (0.06, 0.04)), Stage(15, 1, (0.04, 0.02), (0.04, 0.015)))
LAST_STAGES = (
    Stage(50, 3, (0.1, 0.05), (0.1, 0.05)),
    Stage(50, 2, (0.05, 0.02), (0.05, 0.02)),
    Stage(100, 2, (0.03, 0.01), (0.02, 0.005)),
)
LEAST_SHARES = (0.001, 0.0001)
"""Steps with such a share are remembered longer; the second where the first finds none."""

PATIENCE = 6
"""The bound is left where it doesn't grow in so many rounds."""


class HistoryBound:
    """A lower bound of the pulses from a start through all of some stops to the end positions."""

    def __init__(
        self, stops: Sequence[Positions], start: Positions, end: Positions, work: Work
    ) -> None:
        self.penalties = Penalties(histories_of(start, stops, end), work)
        missing = _missing(stops, start, end)
        self._each = missing.bit_count()
        self._unset = (missing & ~start.known).bit_count()
        self._improve(FIRST_STAGES)

    @property
    def lower_bound(self) -> int:
        """No order of the stops takes fewer pulses."""
        return max(self._each, self.penalties.lower_bound + self._unset)

    def tighten(self, enough: int, work: Work) -> None:
        """Better bounds, until one is enough or the work is over."""
        self.penalties.work = work
        idle = 0
        while self.lower_bound < enough and not work.over and idle < PATIENCE:
            known = self.lower_bound
            if not self._lengthen():
                break
            self._improve(STAGES)
            idle = 0 if self.lower_bound > known else idle + 1
        if self.lower_bound < enough:
            self._improve(LAST_STAGES)

    def _improve(self, stages: Sequence[Stage]) -> None:
        for stage in stages:
            self._shares = self.penalties.improve(stage)

    def _lengthen(self) -> bool:
        return any(self.penalties.lengthen(self._shares, share) for share in LEAST_SHARES)


def _missing(stops: Sequence[Positions], start: Positions, end: Positions) -> int:
    """The actuators that any of the stops or the end wants elsewhere than they are at the start."""
    missing = start.missing(end)
    for stop in stops:
        missing |= start.missing(stop)
    return missing
