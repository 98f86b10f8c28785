"""A load of needs in very many ways made quicker by other orders of its passes.

Orders near the best known one are put into time, those of the fewest pulses first, and the first
that is better is gone on from. Each order is carried out with its fewest pulses.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from seqc.solver.load_time.pace import Cost
from seqc.solver.load_time.trials import Trials, pulses_of
from seqc.solver.loading import LoadPass
from seqc.solver.positions import Positions, bits
from seqc.solver.sections.groups import groups_of
from seqc.solver.sections.rows import Rows

if TYPE_CHECKING:
    from seqc.solver.sections.load import SectionLoad

MOST_TRIED = 100
"""So many orders are put into time."""

Order = tuple[int, ...]
"""Groups of needs by number."""


def try_orders(
    rows: Rows, positions: tuple[Positions, Positions], trials: Trials, least_us: int
) -> None:
    """Try orders near the best load, until one takes no more than the least time, if any does.

    `positions` are those of the start and of the end. Nothing is tried where passes load some
    gates of a need and not all.
    """
    enough = trials.cost_of(least_us, pulses_of(trials.best))
    groups = groups_of(rows.rows) if trials.cost > enough else None
    order = _order(rows, groups.members, trials.best) if groups else None
    if groups is None or order is None:
        return
    # Imported only here, where it is needed: the import of numpy takes longer than most plans.
    from seqc.solver.sections.load import SectionLoad

    load = SectionLoad(rows.masks, groups, *positions)
    _Reordering(load, rows, positions[0], trials, enough).run(order)


def _order(rows: Rows, members: Sequence[int], passes: Sequence[LoadPass]) -> Order | None:
    """The groups that passes load."""
    need_of = {gate: need for need, gates in enumerate(rows.gates) for gate in gates}
    loaded = [{need_of[gate] for gate in step.operated} for step in passes]
    groups = [sum(1 << need for need in needs) for needs in loaded]
    once = sum(map(len, loaded)) == len(rows.gates)
    return tuple(map(members.index, groups)) if once and set(groups) <= set(members) else None


class _Reordering:
    """Tries orders of one load from a start until one costs no more than enough."""

    def __init__(
        self, load: SectionLoad, rows: Rows, start: Positions, trials: Trials, enough: Cost
    ) -> None:
        self._load = load
        self._rows = rows
        self._start = start
        self._trials = trials
        self._enough = enough
        self._tried: set[Order] = set()

    def run(self, order: Order) -> None:
        """Go on from an order as long as that makes the load better."""
        self._tried.add(order)
        better: Order | None = order
        while better:
            better = self._better(better)

    def _better(self, order: Order) -> Order | None:
        """The first better order near another."""
        trials = self._trials
        for near, pulses in self._near(order):
            known = trials.cost
            hopeless = known <= self._enough or trials.cost_of(0, pulses) >= known
            if hopeless or trials.over or len(self._tried) > MOST_TRIED:
                return None
            if near not in self._tried:
                self._tried.add(near)
                trials.keep(tuple(self._passes(near)))
                if trials.cost < known:
                    return near
        return None

    def _near(self, order: Order) -> Iterator[tuple[Order, int]]:
        """The orders near another that can end as they must, those of the fewest pulses first."""
        import numpy as np

        from seqc.solver.sections.exchange import steps

        near = np.array(order, np.intp)[steps(len(order))]
        near = near[self._load.closing[near[:, -1]]]
        pulses = self._load.pulses_of(near)
        for place in np.argsort(pulses, kind="stable"):
            yield tuple(near[place].tolist()), int(pulses[place])

    def _passes(self, order: Order) -> Iterator[LoadPass]:
        at = self._start
        for group, hold in self._load.passes(order):
            gates = [gate for need in bits(group) for gate in self._rows.gates[need]]
            moved, at = at.missing(hold), at.then(hold)
            yield LoadPass(moved, at, tuple(sorted(gates)))
