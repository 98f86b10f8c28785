"""How near the lanes pass the magnets of latching coils.

A permanent magnet can magnetise steel items and make them stick, so their lanes keep clear
(common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from seqc.machine.findings import NOWHERE, Finding, Place, Severity
from seqc.machine.magnetism import SteelBall, field_t
from seqc.machine.parts import Cell, Grid


class Point(NamedTuple):
    """A place in space: to the right and down as seen, and away from who looks."""

    right_um: int
    down_um: int
    away_um: int = 0


class LaneField(NamedTuple):
    """Where the lanes of a grid run: straight down from a level, each to its own cell.

    `first` is the cell in row 1 and column 1; the lanes begin `height_um` above it. `steel` is the
    item that a magnet could hold, None where none is of steel: then nothing is said of the lanes.
    """

    grid: Grid
    first: Point
    column_pitch_um: int
    row_pitch_um: int
    height_um: int
    steel: SteelBall | None = None

    def ends(self, cell: Cell) -> tuple[Point, Point]:
        """The upper and the lower end of one cell's lane."""
        right = self.first.right_um + (cell.column - 1) * self.column_pitch_um
        down = self.first.down_um + (cell.row - 1) * self.row_pitch_um
        upper = Point(right, self.first.down_um - self.height_um, self.first.away_um)
        return upper, Point(right, down, self.first.away_um)


class Magnet(NamedTuple):
    """The middle of an actuator's magnet, and the least distance that lanes keep from it.

    Its dipole moment is `moment_am2`, None where it isn't told.
    """

    actuator: str
    centre: Point
    least_um: int
    place: Place = NOWHERE
    moment_am2: float | None = None


class Clearance(NamedTuple):
    """Where lanes and magnets are, as far as it is declared."""

    fields: tuple[LaneField, ...]
    magnets: tuple[Magnet, ...]


def distance_um(field: LaneField, cell: Cell, point: Point) -> float:
    """From a point to the nearest place of a cell's lane, which is upright."""
    upper, lower = field.ends(cell)
    nearest = min(max(point.down_um, upper.down_um), lower.down_um)
    return math.dist(
        (point.right_um, point.down_um, point.away_um), (upper.right_um, nearest, upper.away_um)
    )


def clearance_findings(clearance: Clearance) -> tuple[Finding, ...]:
    """A warning for each magnet with lanes that pass it too near, in order of place."""
    found = (finding for magnet in clearance.magnets for finding in _too_near(clearance, magnet))
    return tuple(sorted(found, key=lambda finding: finding.place))


def _pull(clearance: Clearance, magnet: Magnet, nearest: tuple[float, str, Cell]) -> str:
    """How the magnet pulls there, where its moment is told."""
    distance_m, grid = nearest[0] / 1e6, nearest[1]
    ball = next(field.steel for field in clearance.fields if field.grid.name == grid)
    if magnet.moment_am2 is None or ball is None or not distance_m:
        return ""
    share = ball.pull_n(magnet.moment_am2, distance_m) / ball.drive_n
    field = field_t(magnet.moment_am2, distance_m) * 1000
    return f"; its {field:.2g} mT there pull {ball.item} with {share:.0%} of what moves it"


def _too_near(clearance: Clearance, magnet: Magnet) -> Iterator[Finding]:
    passed = [
        (distance_um(field, cell, magnet.centre), field.grid.name, cell)
        for field in clearance.fields
        if field.steel
        for cell in field.grid.cells
    ]
    near = sorted(entry for entry in passed if entry[0] < magnet.least_um)
    if not near:
        return
    nearest_um, grid, cell = near[0]
    others = f", and {len(near) - 1} more pass it too near" if len(near) > 1 else ""
    yield Finding(
        Severity.WARNING,
        "magnet-clearance",
        f"the lane of {grid} {cell} passes the magnet of {magnet.actuator} at "
        f"{nearest_um / 1000:.1f} mm, {(magnet.least_um - nearest_um) / 1000:.1f} mm nearer than "
        f"the magnet clearance of {magnet.least_um / 1000:g} mm{others}"
        f"{_pull(clearance, magnet, near[0])}",
        magnet.place,
        "move the coil, put iron between, or use items that a magnet leaves alone",
    )
