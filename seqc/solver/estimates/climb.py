"""Values made better along the slope of what they give, each in steps of its own size.

D. Kingma and J. Ba, Adam: a method for stochastic optimization, 2014.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

MOMENTUM = 0.9
DECAY = 0.98
SLOWEST = 0.01


class Climb:
    """Some values, from those that are given."""

    def __init__(self, values: NDArray[np.float64]) -> None:
        import numpy as np

        self.values = values
        self._scale = np.zeros(len(values))
        self.rest()

    def rest(self) -> None:
        """Forget the momentum."""
        import numpy as np

        self._drift = np.zeros(len(self.values))
        self._turn = 0

    def step(self, slope: NDArray[np.floating | np.integer], stride: float) -> None:
        """Change values by about a stride, upwards where the slope is above 0."""
        import numpy as np

        self._turn += 1
        self._drift = MOMENTUM * self._drift + (1 - MOMENTUM) * slope
        self._scale = DECAY * self._scale + (1 - DECAY) * slope * slope
        even = 1 - MOMENTUM**self._turn
        self.values = self.values + stride / even * self._drift / (np.sqrt(self._scale) + SLOWEST)

    def clip(self, least: float, most: float) -> None:
        """Keep all values between two."""
        import numpy as np

        self.values = np.clip(self.values, least, most)

    def keep(self, some: NDArray[np.bool_]) -> None:
        """Leave out the other values."""
        self.values = self.values[some]
        self._scale = self._scale[some]
        self.rest()

    def grow(self, parents: Sequence[int]) -> None:
        """Take in a value for each of some parents, at first the same as the parent's."""
        import numpy as np

        self.values = np.concatenate([self.values, self.values[parents]])
        self._scale = np.concatenate([self._scale, self._scale[parents]])
