"""A good order of very many passes with a bound, by the board of the cuts.

On that board every need has one way, and it is ordered as such needs are. Its bound holds for the
load as well; the load's pulses are those of its own sections in the same order.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate, pairwise

from seqc.solver.estimates.estimate import estimated_order
from seqc.solver.passes.colouring import Classes, Colouring
from seqc.solver.passes.order import EndError
from seqc.solver.positions import Positions
from seqc.solver.sections.cut_board import CutBoard
from seqc.solver.sections.exchange import exchanged
from seqc.solver.sections.load import SectionLoad, Sought


def estimated(load: SectionLoad, colouring: Colouring) -> Sought | None:
    """An order of as many passes as there are classes; None where none was found that can end."""
    board = CutBoard.of(load)
    try:
        found = estimated_order(board.component, colouring.classes, len(colouring.classes), 0)
    except EndError:
        return None
    order = _order(load, board, found.holds) or _plain(load, colouring.classes)
    if order is None:
        return None
    moves = found.least - board.preset.bit_count()
    least = load.first_settings + -(-moves // board.per_pulse)
    order, pulses = exchanged(load, order, least)
    return Sought(order, pulses, min(pulses, least))


def _order(
    load: SectionLoad, board: CutBoard, holds: Sequence[Positions]
) -> tuple[int, ...] | None:
    """The groups that passes which hold such cuts load; None where they can't be loaded so.

    Needs may agree on the board that don't agree in truth.
    """
    wanted = [ways[0] for ways in board.component.needs]
    standing = accumulate(holds, Positions.then, initial=board.component.start)
    left = (1 << len(wanted)) - 1
    number = {members: place for place, members in enumerate(load.groups.members)}
    order = []
    for _, at in pairwise(standing):
        group = sum(
            1 << need
            for need, wants in enumerate(wanted)
            if left >> need & 1 and not at.missing(wants)
        )
        left ^= group
        if group and group not in number:
            return None
        order += [number[group]] if group else []
    closes = not left and load.closing[order[-1]]
    return tuple(order) if closes else None


def _plain(load: SectionLoad, classes: Classes) -> tuple[int, ...] | None:
    """The classes as they are, one that can be the last at the end; None where none can."""
    groups = [sum(1 << need for need in members) for members in classes]
    order = sorted(map(load.groups.members.index, groups), key=lambda group: load.closing[group])
    return tuple(order) if load.closing[order[-1]] else None
