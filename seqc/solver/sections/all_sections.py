"""All sections of a load moved at once, for many orders side by side."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from seqc.solver.sections.moves import Numbers
from seqc.solver.sections.section import Section

PULSES = 16
"""So many low bits of a move are its pulses, those above tell where it leads."""

Rows = NDArray[np.int64]


class AllSections:
    """The moves of every section in one table: a row for each state, a column for each want.

    Rows have their places in the table for numbers. They are filled in as they are asked for.
    """

    def __init__(self, sections: Sequence[Section]) -> None:
        self._sections = sections
        self._width = max(len(section.wants) for section in sections)
        self._states: list[tuple[int, int]] = []
        self._rows: dict[tuple[int, int], int] = {}
        self._moves = np.full(len(sections) * self._width, -1, np.int64)
        self._first = np.array([self._row(number, 0) for number in range(len(sections))], np.int64)

    def pulses_of(self, wanted: Iterable[Numbers]) -> Rows:
        """The fewest pulses of orders; for each pass what each wants, a row an order."""
        rows = self._first
        pulses = np.zeros_like(rows)
        for wants in wanted:
            moves = self._moved(rows + wants)
            pulses = pulses + (moves & (1 << PULSES) - 1)
            rows = moves >> PULSES
        found: Rows = pulses.sum(axis=-1)
        return found

    def _moved(self, places: Rows) -> Rows:
        """The moves at some places of the table."""
        moves = self._moves.take(places)
        if moves.size and moves.min() < 0:
            for place in np.unique(places[moves < 0]):
                self._move(int(place))
            moves = self._moves.take(places)
        return moves

    def _move(self, place: int) -> None:
        row, want = divmod(place, self._width)
        number, state = self._states[row]
        added, after = self._sections[number].moves.after_one(state, want)
        self._moves[place] = self._row(number, after) << PULSES | added

    def _row(self, number: int, state: int) -> int:
        """The row of a section's state, a new one if it has none."""
        row = self._rows.setdefault((number, state), len(self._states))
        if row == len(self._states):
            self._states.append((number, state))
            if len(self._states) * self._width > len(self._moves):
                self._moves = np.concatenate([self._moves, np.full_like(self._moves, -1)])
        return row * self._width
