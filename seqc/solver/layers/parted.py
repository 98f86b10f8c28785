"""The order of the passes by parts, where all states of a pass at once are too many.

A need that may go along with several others is tried with each of them, and in a pass of its own
where there is room for one; where every need has its pass, one with several ways is tried with
each. Each part has fewer states and better bounds; where it still has too many, it is parted again
(branch and bound: A. Land and A. Doig, 1960). So it ends with a proof, if it is given the time.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from seqc.solver.layers.search import ALL, ANY_EFFORT, FAR, LayerSearch
from seqc.solver.layers.words import WORD
from seqc.solver.passes.colouring import EffortError
from seqc.solver.passes.order import EndError, Order
from seqc.solver.passes.partners import Partners, partners
from seqc.solver.passes.reduction import Component

EFFORT = 4_000_000
MOST_EFFORT = 300_000_000
"""How many states one search may join, and all parts together, before a bound has to do."""

MOST_WAYS = 512
"""With more ways parts are too many."""

WIDTHS = (100, 3_000, ALL)


def order_by_parts(component: Component, count: int) -> Order:
    """The order of a component with the fewest pulses within so many passes.

    Where the effort doesn't suffice, a good one with a bound. Raises EndError where the end can't
    be met, EffortError where no order was found.
    """
    return _PartedSearch(component, count).best()


@dataclass
class _PartedSearch:
    component: Component
    count: int
    effort: int = field(default_factory=lambda: MOST_EFFORT)
    found: Order | None = None

    @property
    def pulses(self) -> int:
        """Those of the best order so far."""
        return FAR if self.found is None else self.found.pulses

    def best(self) -> Order:
        """The best order."""
        least = self._first()
        if least < self.pulses and self._by_parts():
            least = self.pulses
        if least == FAR:
            raise EndError
        if self.found is None:
            raise EffortError(least)
        return replace(self.found, least=least)

    def _first(self) -> int:
        """A bound, after searches of the whole that keep few states of each pass, then all."""
        if len(self.component.needs) > WORD:
            return 0
        search = LayerSearch(self.component, self.count, effort=EFFORT)
        self.found, least = search.better(FAR, WIDTHS)
        return least

    def _by_parts(self) -> bool:
        """Whether the best order was found and proven, part by part."""
        if sum(map(len, self.component.needs)) > MOST_WAYS:
            return False
        waiting = [partners(self.component.needs, self.count)]
        while waiting and self.effort > 0:
            part = waiting.pop()
            if self._sought(part) < self.pulses:
                if part.whole:
                    return False
                waiting += part.split()
        return not waiting

    def _sought(self, part: Partners) -> int:
        """A bound of a part, after a search for a better order in it."""
        if part.loose and len(part.needs) > WORD:
            return 0
        smaller = replace(self.component, needs=part.needs)
        effort = ANY_EFFORT if part.whole else EFFORT
        search = LayerSearch(smaller, self.count, len(part.passes), effort)
        found, least = search.better(self.pulses, (ALL,))
        self.found = found or self.found
        self.effort -= search.spent
        return least
