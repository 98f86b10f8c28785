"""An actuator that is to be replaced by several, and how that is said."""

from __future__ import annotations

import operator
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from seqc.machine.parts import Cell, LinkageKind
from seqc.machine.wiring import Actuator

LINES: dict[str, Callable[[Cell], int]] = {
    "row": operator.attrgetter("row"),
    "column": operator.attrgetter("column"),
}


@dataclass(frozen=True)
class Split:
    """One actuator to be replaced by several, each moving a part of its cells."""

    actuator: Actuator
    parts: tuple[tuple[Cell, ...], ...]

    @property
    def added(self) -> int:
        """How many actuators the machine gains."""
        return len(self.parts) - 1

    @property
    def along(self) -> str:
        """`row` or `column` where those tell the parts apart, else nothing."""
        return next((name for name, of in LINES.items() if _apart(of, self.parts)), "")

    @property
    def short(self) -> str:
        """In how many parts, whichever cells they move."""
        return f"split {self.actuator.name} into {len(self.parts)}"

    def __str__(self) -> str:
        words = [_words(part, self.along) for part in self.parts]
        split = f"split {self.actuator.name} into {', '.join(words[:-1])} and {words[-1]}"
        part = self.actuator.part
        if self.along and part.linkage.kind is LinkageKind.GRID:
            return f"{split}, or make {part.name} per {self.along}"
        return split


def _apart(of: Callable[[Cell], object], parts: Sequence[Sequence[Cell]]) -> bool:
    lines = [{of(cell) for cell in part} for part in parts]
    return sum(map(len, lines)) == len(set().union(*lines))


def _words(cells: Sequence[Cell], along: str) -> str:
    if along:
        return "{" + _runs(along[0], sorted({LINES[along](cell) for cell in cells})) + "}"
    return "{" + " ".join(f"r{cell.row}c{cell.column}" for cell in cells) + "}"


def _runs(sign: str, numbers: Sequence[int]) -> str:
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return " ".join(
        f"{sign}{run[0]}" if len(run) == 1 else f"{sign}{run[0]}..{sign}{run[-1]}" for run in runs
    )
