"""What is asked of a design of linkages, and a design."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from functools import cached_property

FREE = -1
"""The group of a cell that the search is to choose."""

Labels = tuple[int, ...]
"""For each cell the number of its group; groups count from 0."""


class Shape(Enum):
    """Which cells one linkage may tie together, as it can be built."""

    ANY = "any cells"
    CONNECTED = "connected"
    LINE = "in a line"
    RUN = "straight runs"


@dataclass(frozen=True)
class Wants:
    """What cells want of each selector, as bit sets of glyphs by part and cell.

    In a glyph of neither set the cell takes a kind for which the selector doesn't matter. `paced`
    are the glyphs whose passes count; the others are to be within reach only.
    """

    rest: tuple[tuple[int, ...], ...]
    thrown: tuple[tuple[int, ...], ...]
    paced: int

    @property
    def parts(self) -> int:
        """How many selectors there are."""
        return len(self.rest)

    @property
    def cells(self) -> int:
        """How many cells there are."""
        return len(self.rest[0])

    def opposed(self, part: int, one: int, other: int) -> int:
        """The glyphs in which two cells want opposite positions of a selector."""
        rest, thrown = self.rest[part], self.thrown[part]
        return rest[one] & thrown[other] | thrown[one] & rest[other]


@dataclass(frozen=True)
class Question:
    """What a design must do: load every glyph, those that are paced in so many passes.

    `spots` are the rows and columns of the cells. `built` has, part by part with the gate last, the
    group of each cell whose linkage is there already, else FREE; built groups take no more cells.
    Where `every_picture` must be in reach, no two cells share both a gate and a selector.
    """

    wants: Wants
    spots: tuple[tuple[int, int], ...]
    passes: int
    shape: Shape = Shape.ANY
    every_picture: bool = False
    built: tuple[Labels, ...] = ()

    @cached_property
    def fixed(self) -> tuple[Labels, ...]:
        """The built groups of all parts."""
        return self.built or ((FREE,) * self.wants.cells,) * (self.wants.parts + 1)

    def built_groups(self, part: int) -> int:
        """How many groups of a part are built."""
        return 1 + max(self.fixed[part], default=FREE)


@dataclass(frozen=True)
class Design:
    """The group of each cell: a row of labels for each selector, and last for the metering gate."""

    labels: tuple[Labels, ...]

    @property
    def gate(self) -> Labels:
        """The groups of the metering gate."""
        return self.labels[-1]

    @property
    def selectors(self) -> tuple[Labels, ...]:
        """The groups of each selector."""
        return self.labels[:-1]

    @cached_property
    def sizes(self) -> tuple[int, ...]:
        """How many groups each part has."""
        return tuple(len(set(labels)) for labels in self.labels)

    @property
    def actuators(self) -> int:
        """How many actuators move the selectors and the metering gate."""
        return sum(self.sizes)


@dataclass(frozen=True)
class Answer:
    """The best design that was found, if any, and the bound: none has fewer actuators."""

    design: Design | None
    lower_bound: int

    @property
    def proven(self) -> bool:
        """Whether no design has fewer actuators."""
        return self.design is not None and self.design.actuators == self.lower_bound


def numbered(labels: Sequence[object]) -> Labels:
    """Labels as numbers, in the order in which they first come."""
    numbers: dict[object, int] = {}
    return tuple(numbers.setdefault(label, len(numbers)) for label in labels)
