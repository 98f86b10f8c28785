"""Which needs can share a pass, and what such a group wants of each section."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from seqc.solver.sections.rows import MOST_OF_SECTION
from seqc.solver.ways import ALWAYS, Row, Ways, both

MOST_GROUPS = 100_000
"""In so many ways needs may share a pass."""


@dataclass
class Wants:
    """All that is wanted of one section, each with a number, 0 for nothing."""

    ways: list[Ways] = field(default_factory=lambda: [ALWAYS])
    _numbers: dict[Ways, int] = field(default_factory=lambda: {ALWAYS: 0})
    _both: dict[tuple[int, int], int | None] = field(default_factory=dict)

    def number(self, ways: Ways) -> int:
        """The number of what is wanted."""
        number = self._numbers.setdefault(ways, len(self.ways))
        if number == len(self.ways):
            self.ways.append(ways)
        return number

    def both(self, first: int, second: int) -> int | None:
        """What two wants come to together; None where they are opposed."""
        if (first, second) not in self._both:
            ways = both(self.ways[first], self.ways[second])
            self._both[first, second] = self.number(ways) if ways else None
        return self._both[first, second]


@dataclass(frozen=True, slots=True)
class Groups:
    """The bit sets of needs that can share a pass, the single needs first.

    `wants` has all that is wanted of each section, `numbers` what each group wants of each.
    """

    members: tuple[int, ...]
    wants: tuple[Wants, ...]
    numbers: tuple[tuple[int, ...], ...]

    @property
    def needs(self) -> int:
        """How many single needs there are."""
        return max(self.members).bit_length()


def groups_of(rows: Sequence[Row]) -> Groups | None:
    """The groups of needs that want such rows.

    None where they are too many, or leave too many ways in one section.
    """
    wants = tuple(Wants() for _ in rows[0])
    single = [
        tuple(each.number(ways) for each, ways in zip(wants, row, strict=True)) for row in rows
    ]
    found = {1 << need: numbers for need, numbers in enumerate(single)}
    waiting = list(found.items())
    while waiting:
        group, numbers = waiting.pop()
        for need in range(group.bit_length(), len(rows)):
            together = _together(wants, numbers, single[need])
            if together is not None:
                found[group | 1 << need] = together
                waiting.append((group | 1 << need, together))
        if len(found) > MOST_GROUPS:
            return None
    if any(len(ways) > MOST_OF_SECTION for each in wants for ways in each.ways):
        return None
    return Groups(tuple(found), wants, tuple(found.values()))


def _together(
    wants: Sequence[Wants], first: Sequence[int], second: Sequence[int]
) -> tuple[int, ...] | None:
    """What two groups come to together; None where any section can't serve both."""
    found = []
    for each, one, two in zip(wants, first, second, strict=True):
        number = each.both(one, two)
        if number is None:
            return None
        found.append(number)
    return tuple(found)
