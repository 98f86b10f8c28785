"""Faults in words: what is wrong, and where to look."""

from __future__ import annotations

from collections.abc import Sequence

from seqc.faults import Fault, FaultKind, Spot
from seqc.machine.model import Machine
from seqc.machine.parts import Cell, Position
from seqc.machine.wording import listed
from seqc.report.words import actuators_words, ranges

WHERE_TO_LOOK = {
    FaultKind.STUCK: "supply off: move it by hand; look for friction, dirt, a loose armature",
    FaultKind.WIRES_SWAPPED: "compare the two wires of this coil with those of its neighbours",
    FaultKind.COILS_EXCHANGED: "follow the wires of both coils back to their outputs",
    FaultKind.OUTPUT_ON: "look at its indicator or measure it while no table runs: it must be idle",
    FaultKind.OUTPUT_OFF: "measure it while a table that pulses it runs; look at plug and driver",
    FaultKind.CONTACT_OPEN: "supply off: measure the relay's contact; look at socket and terminals",
    FaultKind.CONTACT_WELDED: "supply off: the contact must be open while its relay is released",
    FaultKind.LINKAGE_BROKEN: "supply off: move the actuator by hand and watch this cell's part",
    FaultKind.LANE_BLOCKED: "look into this lane with a lamp: a jammed or broken item, an edge",
    FaultKind.LANE_SLOW: "let an item down this lane by hand: dirt, a flat slope, a rough place",
    FaultKind.TWO_AT_ONCE: "look at this cell's metering gate: wear, play, items too small",
    FaultKind.HELD_ONCE: "nothing if it doesn't come again; else look at this gate and its items",
    FaultKind.MAGAZINES_EXCHANGED: "look into the magazines",
    FaultKind.STICKS_AT_MAGNET: "look where this lane passes a magnet: is an item held there?",
}


def fault_words(machine: Machine, fault: Fault, tables: Sequence[str] = ()) -> str:
    """What is wrong; `tables` are the names of what was played."""
    actuators = actuators_words(machine.actuators[index] for index in fault.actuators)
    where = spots_words(machine, fault.footprint)
    stays = "" if fault.position is None else _stays(fault.position)
    match fault.kind:
        case FaultKind.STUCK:
            return f"{actuators} stays {stays}"
        case FaultKind.WIRES_SWAPPED:
            return f"wires of the coil of {actuators} swapped"
        case FaultKind.COILS_EXCHANGED:
            return f"coils of {actuators.replace('; ', ' and ')} exchanged"
        case FaultKind.LINKAGE_BROKEN:
            return f"linkage of {actuators} broken at {where}, the part there {stays}"
        case FaultKind.HELD_ONCE:
            assert fault.table is not None
            name = tables[fault.table] if fault.table < len(tables) else f"table {fault.table + 1}"
            return f"an item stayed above {fault.gate} once at {where}, in {name}"
        case _ if fault.output is not None:
            return _output_words(machine, fault, actuators)
        case _:
            return _lane_words(fault, where)


def _lane_words(fault: Fault, where: str) -> str:
    """What is wrong with one lane or with magazines."""
    kinds = listed(fault.kinds, "and") if fault.kinds else ""
    words = {
        FaultKind.LANE_BLOCKED: f"lane of {where} blocked below {fault.gate}",
        FaultKind.LANE_SLOW: f"lane of {where} slow below {fault.gate}",
        FaultKind.TWO_AT_ONCE: f"{fault.gate} lets two items go at once at {where}",
        FaultKind.MAGAZINES_EXCHANGED: f"magazines of {kinds} exchanged at {where}",
        FaultKind.STICKS_AT_MAGNET: (
            f"{kinds} stick at a magnet in the lane of {where} below {fault.gate}"
        ),
    }
    return words[fault.kind]


def _output_words(machine: Machine, fault: Fault, actuators: str) -> str:
    words = {
        FaultKind.OUTPUT_ON: "always active",
        FaultKind.OUTPUT_OFF: "never active",
        FaultKind.CONTACT_OPEN: "with a contact that doesn't make",
        FaultKind.CONTACT_WELDED: "with a welded contact",
    }
    before = ", which was thrown before power came" if fault.position else ""
    return f"output {fault.output} ({_side(machine, fault)}{actuators}) {words[fault.kind]}{before}"


def _side(machine: Machine, fault: Fault) -> str:
    """Which polarity an output gives, where it gives one."""
    if len(fault.actuators) > 1:
        return "shared by "
    outputs = machine.actuators[fault.actuators[0]].outputs
    if len(outputs) != 2:
        return ""
    return "forward of " if fault.output == outputs[0] else "reverse of "


def _stays(position: Position) -> str:
    return "at rest" if position is Position.REST else "thrown"


def spots_words(machine: Machine, spots: Sequence[Spot] | frozenset[Spot]) -> str:
    """Cells in words: `row 2 column 3`, `rows 1-6 column 2`, with the grid where there are more."""
    words = []
    for grid in machine.grids:
        cells = [grid.cells[cell] for name, cell in sorted(spots) if name == grid.name]
        if cells:
            of_grid = f" of {grid.name}" if len(machine.grids) > 1 else ""
            words.append(f"{_cells_words(cells, len(cells) == len(grid.cells))}{of_grid}")
    return "; ".join(words)


def _cells_words(cells: Sequence[Cell], are_all: bool) -> str:
    """Columns with the same rows together."""
    if are_all and len(cells) > 1:
        return "every cell"
    rows_of: dict[tuple[int, ...], list[int]] = {}
    for column in sorted({cell.column for cell in cells}):
        rows = tuple(sorted(cell.row for cell in cells if cell.column == column))
        rows_of.setdefault(rows, []).append(column)
    return ", ".join(
        f"{_numbered('row', rows)} {_numbered('column', columns)}"
        for rows, columns in rows_of.items()
    )


def _numbered(noun: str, numbers: Sequence[int]) -> str:
    return f"{noun}{'s' if numbers[1:] else ''} {ranges(numbers)}"
