"""Lanes that pass a magnet nearer than the standoff are named with their distance."""

import math
from dataclasses import replace

from boards import board, grid_of
from hypothesis import given
from hypothesis import strategies as st

from seqc.machine.doubts import doubts
from seqc.machine.findings import Place
from seqc.machine.parts import Cell
from seqc.machine.standoff import (
    LaneField,
    Magnet,
    Point,
    Standoff,
    distance_um,
    standoff_findings,
)
from seqc.machine.suppression import Suppression

FIELD = LaneField(grid_of(3, 2), Point(10_000, 0), 20_000, 25_000, 100_000)
COORDINATES = st.integers(-150_000, 150_000)


def standoff_of(least_um: int, centre: Point) -> Standoff:
    magnet = Magnet("pick.r1", centre, least_um, Place("board.lanes", 3, 5))
    return Standoff((FIELD,), (magnet,))


def test_a_lane_runs_from_its_magazine_to_its_cell() -> None:
    assert FIELD.ends(Cell(3, 2)) == (Point(30_000, -100_000), Point(30_000, 50_000))


def test_a_magnet_beside_a_lane() -> None:
    # 15 mm right of column 2 at the height of row 3: only row 3's lane comes down so far.
    (finding,) = standoff_findings(standoff_of(18_000, Point(45_000, 50_000)))
    assert finding.code == "standoff"
    assert "row 3 column 2 passes the magnet of pick.r1 at 15.0 mm, 3.0 mm nearer than" in str(
        finding
    )
    assert "more" not in finding.message
    assert finding.place.line == 3


def test_a_magnet_beside_all_lanes_of_a_column() -> None:
    (finding,) = standoff_findings(standoff_of(16_000, Point(45_000, -50_000)))
    assert "and 2 more pass it too near" in finding.message


def test_distance_enough() -> None:
    assert standoff_findings(standoff_of(15_000, Point(45_000, 50_000))) == ()


def test_depth_counts() -> None:
    # 30 mm beside and 40 mm behind make 50 mm (3-4-5).
    assert distance_um(FIELD, Cell(1, 1), Point(-20_000, -10_000, 40_000)) == 50_000


@given(st.sampled_from(FIELD.grid.cells), COORDINATES, COORDINATES, COORDINATES)
def test_distance_is_the_least_over_the_lane(cell: Cell, x: int, y: int, z: int) -> None:
    upper, lower = FIELD.ends(cell)
    length = lower.down_um - upper.down_um
    steps = [upper.down_um + length * n / 1_000 for n in range(1_001)]
    sampled = min(math.dist((x, y, z), (upper.right_um, down, upper.away_um)) for down in steps)
    nearest = distance_um(FIELD, cell, Point(x, y, z))
    assert nearest <= sampled + 1e-6
    assert sampled - nearest <= length / 2_000


def test_doubts_need_no_use() -> None:
    machine = board([FIELD.grid])
    assert doubts(machine) == ()
    coil = replace(machine.actuators[0].coil, suppression=Suppression.DIODE, duty_ppm=1)
    parts = (replace(machine.actuators[0].part, coil=coil),)
    actuators = (replace(machine.actuators[0], part=parts[0]), *machine.actuators[1:])
    near = standoff_of(18_000, Point(45_000, 50_000))
    found = doubts(replace(machine, actuators=actuators, standoff=near))
    assert sorted(finding.code for finding in found) == ["diode-across-supply", "standoff"]
