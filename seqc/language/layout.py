"""Where lanes and magnets are, for the clearance between them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from seqc.language.settings import Settings
from seqc.language.source import Statement
from seqc.language.values import Amount
from seqc.machine.clearance import Clearance, LaneField, Magnet, Point
from seqc.machine.findings import Findings, Place
from seqc.machine.magnetism import SteelBall
from seqc.machine.parts import Grid, Lane
from seqc.machine.wiring import Actuator


@dataclass(frozen=True, slots=True)
class _Row:
    """The first magnet of a part, and the way from each to the next."""

    first: Point
    apart: Point
    place: Place

    def at(self, rank: int) -> Point:
        """Magnet number `rank`, from 0."""
        return Point(
            self.first.right_um + rank * self.apart.right_um,
            self.first.down_um + rank * self.apart.down_um,
            self.first.away_um,
        )


class Layout:
    """Collects the places that grids and parts tell."""

    def __init__(self, findings: Findings) -> None:
        self.findings = findings
        self.fields: dict[str, LaneField] = {}
        self.rows: dict[str, _Row] = {}

    def add_lanes(self, statement: Statement, settings: Settings, grid: Grid | None) -> None:
        """Take down where the lanes of a grid run."""
        first = self._first("lanes", settings)
        if first is not None and grid is not None:
            apart = _point(settings, "lane pitch")
            above = settings.integer("lanes start") or 0
            self.fields[statement.name.text] = LaneField(
                grid, first, apart.right_um, apart.down_um, above
            )

    def add_magnets(self, statement: Statement, settings: Settings) -> None:
        """Take down where the magnets of a part are, in the order of its actuators."""
        first = self._first("magnets", settings)
        if first is not None:
            apart = _point(settings, "magnet pitch")
            self.rows[statement.name.text] = _Row(first, apart, statement.name.place)

    def _first(self, what: str, settings: Settings) -> Point | None:
        """The place of the first; reported where only further ones are placed."""
        if settings.get(f"{what} at") is not None:
            depth = settings.integer(f"{what} depth") or 0
            return _point(settings, f"{what} at", depth)
        pitch = f"{what.removesuffix('s')} pitch"
        for key in (pitch, f"{what} depth", f"{what} start"):
            lone = settings.get(key)
            if lone is not None:
                message = f"{lone.entry.title} is given without `{what} at`"
                hint = f"add `{what} at` and how far right and down the first is"
                self.findings.error("no-first-place", message, lone.place, hint)
        return None

    def clearance(self, actuators: Sequence[Actuator], lanes: Iterable[Lane]) -> Clearance | None:
        """Fields and magnets; a part that serves several grids has its magnets at the first."""
        magnets = [magnet for part in self.rows for magnet in self._magnets(part, actuators)]
        if not magnets or not self.fields:
            return None
        steel = {lane.grid.name: _steel(lane) for lane in lanes}
        fields = [
            field._replace(steel=steel.get(field.grid.name)) for field in self.fields.values()
        ]
        return Clearance(tuple(fields), tuple(magnets))

    def _magnets(self, part: str, actuators: Sequence[Actuator]) -> Iterator[Magnet]:
        own = [actuator for actuator in actuators if actuator.part.name == part]
        row = self.rows[part]
        for rank, actuator in enumerate(one for one in own if one.grid == own[0].grid):
            least = actuator.coil.magnet_clearance_um
            if least is not None:
                moment = actuator.coil.moment_uam2
                told = None if moment is None else moment / 1e6
                yield Magnet(actuator.name, row.at(rank), least, row.place, told)


def _steel(lane: Lane) -> SteelBall | None:
    """The largest item of steel in a lane, which a magnet pulls most, on its least slope."""
    steel = [item for item in lane.items if item.is_steel]
    largest = max(steel, key=lambda item: item.diameter_um or 0, default=None)
    slopes = [path.slope.angle_mdeg for path in lane.paths if path.slope]
    if largest is None:
        return None
    return SteelBall(largest.name, largest.diameter_um or 1, min(slopes, default=None))


def _point(settings: Settings, key: str, depth_um: int = 0) -> Point:
    setting = settings.get(key)
    lengths = (
        [value.value for value in setting.values if isinstance(value, Amount)] if setting else []
    )
    right, down = lengths if len(lengths) == 2 else (0, 0)
    return Point(right, down, depth_um)
