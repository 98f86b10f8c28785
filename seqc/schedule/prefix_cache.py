"""A prefix cache: what is known of the passes that several loads begin with is kept."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Hashable, Sequence

from seqc.schedule.actions import action_of_pass
from seqc.schedule.builder import Builder, Throws
from seqc.schedule.topology import Topology
from seqc.solver.plan import Pass

MOST_KEPT = 256
"""So many beginnings are kept; a search goes on from those that it looked at last."""


class PrefixCache:
    """The passes of one machine with which loads begin, collected each but once.

    Those that were wanted last are kept.
    """

    def __init__(self, topology: Topology) -> None:
        self._quiet = Builder(topology)
        self._kept: OrderedDict[Hashable, tuple[Builder, Throws]] = OrderedDict()

    def after(self, passes: Sequence[Pass]) -> tuple[Builder, Throws]:
        """A builder of its own after some passes, and all their throws."""
        if not passes:
            return self._quiet.branch(), []
        before, throws = self._known(passes[:-1])
        builder = before.branch()
        return builder, [*throws, *builder.passes(passes[-1:])]

    def _known(self, passes: Sequence[Pass]) -> tuple[Builder, Throws]:
        """The builder that is kept of some passes; to be branched, not gone on with."""
        key = tuple(map(action_of_pass, passes))
        if key not in self._kept:
            self._kept[key] = self.after(passes)
        self._kept.move_to_end(key)
        if len(self._kept) > MOST_KEPT:
            self._kept.popitem(last=False)
        return self._kept[key]
