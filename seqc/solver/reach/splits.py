"""The cheapest change to the linkages that lets one metering group load one glyph."""

from __future__ import annotations

import operator
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from seqc.machine.parts import Cell, LinkageKind
from seqc.machine.wiring import Actuator
from seqc.solver.needs import LaneNeeds, LoadGroup, joined
from seqc.solver.passes.colouring import fewest_classes
from seqc.solver.positions import Positions, bits
from seqc.solver.ways import Ways

SPLIT_EFFORT = 20_000

_LINES: dict[str, Callable[[Cell], int]] = {
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
        return next((name for name, of in _LINES.items() if _apart(of, self.parts)), "")

    def __str__(self) -> str:
        words = [_words(part, self.along) for part in self.parts]
        split = f"split {self.actuator.name} into {', '.join(words[:-1])} and {words[-1]}"
        part = self.actuator.part
        if self.along and part.linkage.kind is LinkageKind.GRID:
            return f"{split}, or make {part.name} per {self.along}"
        return split


def cheapest_split(
    lane: LaneNeeds, group: LoadGroup, wanted: Mapping[int, Ways]
) -> tuple[Split, ...]:
    """The fewest actuators to add: by splitting the gate's, or the disputed ones of the selectors.

    Of equals the wider linkage is split. Empty where no split helps, since a cell wants a kind that
    isn't offered.
    """
    if not all(wanted.values()):
        return ()
    gate = _gate_split(lane, group, wanted)
    selectors = _selector_splits(lane, wanted)
    return min((gate,), selectors or (gate,), key=_cost)


def _cost(splits: Sequence[Split]) -> tuple[int, int]:
    return sum(split.added for split in splits), -max(len(s.actuator.cells) for s in splits)


def _gate_split(lane: LaneNeeds, group: LoadGroup, wanted: Mapping[int, Ways]) -> Split:
    distinct = list(dict.fromkeys(wanted.values()))
    colouring = fewest_classes(distinct, SPLIT_EFFORT)
    cells = lane.lane.grid.cells
    parts = [
        tuple(cells[cell] for cell, ways in wanted.items() if distinct.index(ways) in members)
        for members in colouring.classes
    ]
    return Split(group.actuator, tuple(sorted(parts)))


def _selector_splits(lane: LaneNeeds, wanted: Mapping[int, Ways]) -> tuple[Split, ...]:
    """Split every selector actuator that single ways of the cells dispute, if that is enough."""
    thrown = rest = 0
    for ways in wanted.values():
        thrown |= ways[0].thrown
        rest |= ways[0].known & ~ways[0].thrown
    disputed = thrown & rest
    left = [tuple(way.within(~disputed) for way in ways) for ways in wanted.values()]
    if any(len(ways) > 1 for ways in wanted.values()) or not joined(Positions(), left).possible:
        return ()
    return tuple(_selector_split(lane, index, wanted) for index in bits(disputed))


def _selector_split(lane: LaneNeeds, index: int, wanted: Mapping[int, Ways]) -> Split:
    """The cells that want the actuator thrown go to a part of their own.

    Where whole rows or columns can go, the cells of other groups go with them.
    """
    cells = lane.lane.grid.cells
    actuator = lane.machine.actuators[index]
    own = {cells[cell]: ways[0] for cell, ways in wanted.items() if ways[0].known >> index & 1}
    thrown = [cell for cell, way in own.items() if way.thrown >> index & 1]
    rest = [cell for cell in own if cell not in thrown]
    of = next((of for of in _LINES.values() if _apart(of, (thrown, rest))), _itself)
    gone = {of(cell) for cell in thrown}
    stay = tuple(cell for cell in actuator.cells if of(cell) not in gone)
    go = tuple(cell for cell in actuator.cells if of(cell) in gone)
    return Split(actuator, tuple(sorted((stay, go))))


def _itself(cell: Cell) -> Cell:
    return cell


def _apart(of: Callable[[Cell], object], parts: Sequence[Sequence[Cell]]) -> bool:
    lines = [{of(cell) for cell in part} for part in parts]
    return sum(map(len, lines)) == len(set().union(*lines))


def _words(cells: Sequence[Cell], along: str) -> str:
    if along:
        return "{" + _runs(along[0], sorted({_LINES[along](cell) for cell in cells})) + "}"
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
