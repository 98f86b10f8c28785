"""What feeds a cell, worked out apart from the model's own answer."""

from __future__ import annotations

from seqc.machine.parts import Branch, Cell, Feed, Lane


def declared(lane: Lane, cell: Cell) -> Feed:
    """The feed that is declared for a cell."""
    return next((feed for feed, cells in lane.others if cell in cells), lane.feed)


def inputs(branch: Branch, cell: Cell) -> tuple[Feed, Feed]:
    """What a selector offers in a cell at rest, and thrown."""
    if cell in branch.selector.mirrored:
        return branch.thrown, branch.rest
    return branch.rest, branch.thrown
