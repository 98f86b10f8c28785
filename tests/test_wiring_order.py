"""Actuators and their outputs are in the order in which a maker counts rows and columns."""

from __future__ import annotations

from boards import COLUMN, GRID, ROW, board, grid_of

from seqc.machine.parts import Cell


def test_columns_count_from_the_left_though_their_first_cells_are_absent() -> None:
    absent = [Cell(1, 1), Cell(1, 2), Cell(2, 1)]
    machine = board([grid_of(3, 3, absent)], selectors=(ROW,), gates={"drop": COLUMN, "swap": GRID})
    names = [actuator.name for actuator in machine.actuators]
    assert names == [
        "pick1.r1",
        "pick1.r2",
        "pick1.r3",
        "drop.c1",
        "drop.c2",
        "drop.c3",
        "swap",
    ]
    assert [output for actuator in machine.actuators for output in actuator.outputs] == list(
        range(2 * len(names))
    )
    assert machine.actuators[3].cells == (Cell(3, 1),)
