"""Pairs of faults that together explain what no single one does."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from seqc.faults.fault import Fault, FaultKind
from seqc.faults.trials import Hypothesis

MOST_JOINT = 400
"""So many pairs whose faults share cells are run in the simulator, the likeliest first."""


class Traits(NamedTuple):
    """A fault with bit sets of cells: those it may change, and those where it alone can't be it."""

    fault: Fault
    cells: int
    unfit: int
    weight: float


class Pairs(NamedTuple):
    """Pairs that share no cell and so are known to explain all, and those that may."""

    apart: tuple[Hypothesis, ...]
    to_run: tuple[Hypothesis, ...]
    cut_short: bool


def pairs_of(traits: Sequence[Traits], wrong: int) -> Pairs:
    """The pairs that may explain all cells that are `wrong`, likeliest first.

    Where the faults of a pair share no cell, each of them must explain all that is seen of its own.
    Where they share some, it must do so elsewhere, and what is seen of these is to be run.
    """
    apart: list[tuple[float, Hypothesis]] = []
    to_run: list[tuple[float, Hypothesis]] = []
    first = wrong & -wrong
    for rank, one in enumerate(traits):
        if not one.cells & first:
            continue
        left = wrong & ~one.cells
        for other_rank, other in enumerate(traits):
            if left & ~other.cells or not _may_fit(one, other):
                continue
            if (other.cells & first and other_rank <= rank) or _clash(one.fault, other.fault):
                continue
            found = to_run if one.cells & other.cells else apart
            found.append((one.weight * other.weight, (one.fault, other.fault)))
    run = [pair for _, pair in sorted(to_run, key=lambda each: -each[0])]
    ordered = sorted(apart, key=lambda each: -each[0])
    return Pairs(tuple(pair for _, pair in ordered), tuple(run[:MOST_JOINT]), len(run) > MOST_JOINT)


def _may_fit(one: Traits, other: Traits) -> bool:
    """Whether each explains what is seen of the cells that are its own.

    Where a coil hangs on other lines, what is wrong with these is seen in other cells.
    """
    pair = one.fault, other.fault
    exchanged = any(fault.kind is FaultKind.COILS_EXCHANGED for fault in pair)
    if exchanged and set(pair[0].actuators) & set(pair[1].actuators):
        return True
    return not (one.unfit & ~other.cells or other.unfit & ~one.cells)


def _clash(one: Fault, other: Fault) -> bool:
    """Whether two faults can't be there together, or are one."""
    mine, theirs = one.defects, other.defects
    if mine == theirs:
        return True
    if mine.wiring.on & theirs.wiring.off or mine.wiring.off & theirs.wiring.on:
        return True
    if mine.wiring.parted & theirs.wiring.welded or mine.wiring.welded & theirs.wiring.parted:
        return True
    return any(set(a) & set(b) for a, b in _places(one, other))


def _places(one: Fault, other: Fault) -> Iterator[tuple[list[object], list[object]]]:
    """What each of two faults concerns, kind by kind, where only one thing can be wrong with it."""
    mine, theirs = one.defects.works, other.defects.works
    yield [index for index, _ in mine.stuck], [index for index, _ in theirs.stuck]
    yield [each[:2] for each in mine.loose], [each[:2] for each in theirs.loose]
    yield [each[:2] for each in mine.mixed], [each[:2] for each in theirs.mixed]
    pairs = one.defects.wiring.exchanged, other.defects.wiring.exchanged
    yield [index for pair in pairs[0] for index in pair], [i for pair in pairs[1] for i in pair]
