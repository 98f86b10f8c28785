"""Which needs fit into so many passes, for many sets of needs at once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from seqc.solver.passes.colouring import ClassSearch, EffortError

FITTED_SETS = 1_500
FITTING_EFFORT = 2_000


class Fitting:
    """What fits of some needs, by their cliques and by a search for classes."""

    def __init__(self, classes: ClassSearch, cliques: Sequence[int]) -> None:
        self._classes = classes
        self._cliques = cliques
        count = len(classes.graph)
        self._all_opposed = all(mask.bit_count() == count - 1 for mask in classes.graph)
        self._known: dict[tuple[int, int], bool] = {}

    def fitting(self, sets: NDArray[np.uint64], passes: int) -> NDArray[np.bool_]:
        """Which sets of needs fit into so many passes, as far as the effort goes."""
        sizes = np.bitwise_count(sets)
        fit: NDArray[np.bool_] = (sizes == 0) | (passes > 0)
        for clique in self._cliques:
            fit &= np.bitwise_count(sets & np.uint64(clique)) <= passes
        open_ = np.flatnonzero(fit & (sizes > passes))
        if len(open_) <= FITTED_SETS and not self._all_opposed:
            for place in open_:
                fit[place] = self._fits(int(sets[place]), passes)
        return fit

    def _fits(self, needs: int, passes: int) -> bool:
        if (needs, passes) not in self._known:
            try:
                found = self._classes.classes(needs, passes, FITTING_EFFORT)
                self._known[needs, passes] = found is not None
            except EffortError:
                self._known[needs, passes] = True
        return self._known[needs, passes]
