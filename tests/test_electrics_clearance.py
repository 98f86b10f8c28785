"""Lanes that pass a magnet nearer than the clearance are named with their distance."""

import math
from dataclasses import replace

import pytest
from boards import board, grid_of
from hypothesis import given
from hypothesis import strategies as st

from seqc.machine.clearance import (
    Clearance,
    LaneField,
    Magnet,
    Point,
    clearance_findings,
    distance_um,
)
from seqc.machine.doubts import doubts
from seqc.machine.findings import Place
from seqc.machine.magnetism import MU0, SteelBall, field_t
from seqc.machine.parts import Cell
from seqc.machine.suppression import Suppression

STEEL = SteelBall("shot", 8_000, 12_000)
FIELD = LaneField(grid_of(3, 2), Point(10_000, 0), 20_000, 25_000, 100_000, STEEL)
COORDINATES = st.integers(-150_000, 150_000)


def clearance_of(least_um: int, centre: Point) -> Clearance:
    magnet = Magnet("pick.r1", centre, least_um, Place("board.lanes", 3, 5))
    return Clearance((FIELD,), (magnet,))


def test_a_lane_runs_from_its_magazine_to_its_cell() -> None:
    assert FIELD.ends(Cell(3, 2)) == (Point(30_000, -100_000), Point(30_000, 50_000))


def test_a_magnet_beside_a_lane() -> None:
    # 15 mm right of column 2 at the height of row 3: only row 3's lane comes down so far.
    (finding,) = clearance_findings(clearance_of(18_000, Point(45_000, 50_000)))
    assert finding.code == "magnet-clearance"
    assert "row 3 column 2 passes the magnet of pick.r1 at 15.0 mm, 3.0 mm nearer than" in str(
        finding
    )
    assert "more" not in finding.message
    assert finding.place.line == 3


def test_a_magnet_beside_all_lanes_of_a_column() -> None:
    (finding,) = clearance_findings(clearance_of(16_000, Point(45_000, -50_000)))
    assert "and 2 more pass it too near" in finding.message


def test_distance_enough() -> None:
    assert clearance_findings(clearance_of(15_000, Point(45_000, 50_000))) == ()


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
    near = clearance_of(18_000, Point(45_000, 50_000))
    found = doubts(replace(machine, actuators=actuators, clearance=near))
    assert sorted(finding.code for finding in found) == ["diode-across-supply", "magnet-clearance"]


def test_field_of_a_dipole() -> None:
    """1 Am2 at 10 cm on its axis: 2e-7 / 1e-3 = 0.2 mT (mu0 / 2 pi is 2e-7)."""
    assert field_t(1.0, 0.1) == pytest.approx(2e-4)
    assert pytest.approx(1.25663706e-6) == MU0


def test_pull_on_a_ball_of_steel() -> None:
    """By hand: 0.2 Am2 at 25 mm is 2.56 mT; 12 pi (4 mm)^3 B^2 / (mu0 25 mm) is 0.503 mN.

    8 mm of steel weigh 2.104 g or 20.64 mN, of which 12 deg leave 4.291 mN: 11.7 %.
    """
    assert field_t(0.2, 0.025) == pytest.approx(2.56e-3)
    assert STEEL.pull_n(0.2, 0.025) == pytest.approx(0.503e-3, rel=2e-3)
    assert STEEL.drive_n == pytest.approx(4.291e-3, rel=1e-3)
    magnet = Magnet("pick.r1", Point(55_000, 50_000), 30_000, Place("b", 1, 1), 0.2)
    (finding,) = clearance_findings(Clearance((FIELD,), (magnet,)))
    assert "its 2.6 mT there pull shot with 12% of what moves it" in finding.message


def test_the_pull_is_the_gradient_of_the_energy() -> None:
    """F = -dU/dr with U = -2 pi R^3 B^2 / mu0, the energy of an induced dipole: by differences."""

    def energy(distance: float) -> float:
        return -2 * math.pi * 0.004**3 * field_t(0.2, distance) ** 2 / MU0

    slope = (energy(0.025 + 1e-6) - energy(0.025 - 1e-6)) / 2e-6
    assert STEEL.pull_n(0.2, 0.025) == pytest.approx(slope, rel=1e-5)


def test_of_items_that_are_not_steel_nothing_is_said() -> None:
    glass = FIELD._replace(steel=None)
    magnet = Magnet("pick.r1", Point(45_000, 50_000), 18_000)
    assert clearance_findings(Clearance((glass,), (magnet,))) == ()
