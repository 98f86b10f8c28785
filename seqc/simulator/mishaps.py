"""What goes wrong with items, as faults that can be switched on: one that stays where it should go.

An item that doesn't come through the metering gate leaves its cell wrong until the next frame; one
that stays above a gate further down meets the next one there, and the lane is late by one picture
from then on.
"""

from __future__ import annotations

from collections.abc import Collection
from random import Random
from typing import Protocol

from seqc.machine.model import Machine
from seqc.machine.parts import Gate, Grid


class Mishaps(Protocol):
    """Tells of each item that could go whether it stays."""

    def stays(self, gate: Gate, metering: bool, kind: str, grid: Grid, cell: int) -> bool:
        """Whether an item of a kind stays above a gate that is cycled, in a cell by its index."""


class Misfeeds:
    """Items that stay by chance, as gates and items tell it."""

    def __init__(self, machine: Machine, seed: int = 0) -> None:
        self.random = Random(seed)
        self.chance = {item.name: item.misfeed for item in machine.items}

    def stays(self, gate: Gate, metering: bool, kind: str, grid: Grid, cell: int) -> bool:  # noqa: ARG002
        """By the chance of the gate and, at the metering gate, by that of the item."""
        chance = gate.misfeed
        if metering:
            chance += (1 - chance) * self.chance.get(kind, 0.0)
        return self.random.random() < chance


class Stuck:
    """Items that stay above one gate in some cells, so many times each."""

    def __init__(self, gate: str, grid: str, cells: Collection[int], times: int = 1) -> None:
        self.gate, self.grid = gate, grid
        self.left = dict.fromkeys(cells, times)

    def stays(self, gate: Gate, metering: bool, kind: str, grid: Grid, cell: int) -> bool:  # noqa: ARG002
        """Whether it is one of them, which is then counted down."""
        if (gate.name, grid.name) != (self.gate, self.grid) or not self.left.get(cell):
            return False
        self.left[cell] -= 1
        return True
