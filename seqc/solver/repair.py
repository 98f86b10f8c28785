"""The fewest actuators to add, by splitting linkages, so that a whole font can be loaded.

A repair splits actuators in several, each of which moves a part of the cells; it costs one more
latching solenoid for every part but the first. Whether so many parts are enough is asked of each
block on its own (`seqc.solver.division`); how many parts each actuator gets is the cheapest answer
to all that the blocks demand (`seqc.solver.levels`). A block that isn't served by the answer gives
a further demand: the most parts that still are too few. So the last answer is the smallest repair
(an implicit hitting set; E. Moreno-Centeno and R. Karp, 2013).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Grid, Part
from seqc.solver.colouring import EffortError
from seqc.solver.contention import Contention, contention_of
from seqc.solver.division import Counts, Division
from seqc.solver.levels import Demand, cheapest_levels
from seqc.solver.linking import Relinked, relinked
from seqc.solver.needs import needs_of
from seqc.solver.sides import Sides, straightened
from seqc.solver.splits import Split

MOST_ROUNDS = 500


@dataclass(frozen=True)
class Repair:
    """Actuators to split so that every glyph can be loaded whose kinds are offered.

    `links` are the parts that they belong to with their new groups. No repair adds fewer than
    `least` actuators.
    """

    grid: Grid
    splits: tuple[Split, ...]
    links: tuple[Relinked, ...]
    least: int

    @property
    def added(self) -> int:
        """How many actuators the machine gains."""
        return sum(split.added for split in self.splits)

    @property
    def outputs(self) -> int:
        """How many outputs more they take."""
        return sum(split.added * len(split.actuator.outputs) for split in self.splits)

    @property
    def proven(self) -> bool:
        """Whether no repair adds fewer actuators."""
        return self.added == self.least


def smallest_repair(machine: Machine, grid: str, glyphs: Iterable[Glyph]) -> Repair:
    """The fewest actuators to add so that all these glyphs of one grid can be loaded.

    Glyphs with kinds that their lane doesn't offer are left out. Nothing is split where all can be
    loaded already.
    """
    contention = contention_of(needs_of(machine, grid), glyphs)
    divisions = [Division(block) for block in contention.blocks]
    counts, least = _fewest_parts(divisions)
    sides = straightened(contention, _sides(divisions, counts))
    splits = tuple(_splits(contention, sides))
    return Repair(contention.lane.lane.grid, splits, tuple(_links(contention, sides)), least)


def _fewest_parts(divisions: Sequence[Division]) -> tuple[dict[int, int], int]:
    """How many parts each actuator gets, and a lower bound of how many are added."""
    sure: dict[Demand, None] = {}
    doubted: dict[Demand, None] = {}
    for division in divisions:
        sure |= dict.fromkeys(_first_demands(division))
    for _ in range(MOST_ROUNDS):
        levels = cheapest_levels((*sure, *doubted))
        counts = {actuator: 1 + level for actuator, level in levels.levels.items()}
        more = [_demand(division, counts) for division in divisions]
        if not any(more):
            least = levels.least if not doubted else cheapest_levels(sure).least
            return counts, least
        for found in filter(None, more):
            (sure if found[1] else doubted)[found[0]] = None
    return _gates_alone(divisions), cheapest_levels(sure).least


def _gates_alone(divisions: Sequence[Division]) -> dict[int, int]:
    """Parts that are enough in any case: no selector is split."""
    counts: dict[int, int] = {}
    for division in divisions:
        gate = division.block.metering
        counts[gate] = max(counts.get(gate, 1), division.most(gate))
    return counts


def _first_demands(division: Division) -> Iterator[Demand]:
    """For each selector: either the gate has more than so many parts, or the selector enough."""
    gate = division.block.metering
    for actuator, colouring in division.colourings.items():
        parts = 1
        while parts < colouring.least:
            needed = -(-colouring.least // parts)
            parts = -(-colouring.least // (needed - 1))
            yield tuple(sorted(((gate, parts - 1), (actuator, needed - 1))))


def _demand(division: Division, counts: Counts) -> tuple[Demand, bool] | None:
    """What a block demands that so many parts don't serve, and whether that is sure."""
    block = division.block
    actuators = sorted((block.metering, *block.selectors))
    try:
        if division.shares(counts) is not None:
            return None
    except EffortError:
        return tuple((a, counts.get(a, 1)) for a in actuators), False
    too_few = {actuator: counts.get(actuator, 1) for actuator in actuators}
    for actuator in actuators:
        too_few[actuator] = _most_too_few(division, too_few, actuator)
    return tuple((a, n) for a, n in too_few.items() if n < division.most(a)), True


def _most_too_few(division: Division, too_few: dict[int, int], actuator: int) -> int:
    """How many parts of one actuator are surely too few, the others having as many as given."""
    low, high = too_few[actuator], division.most(actuator)
    while low < high:
        middle = (low + high + 1) // 2
        try:
            enough = division.shares({**too_few, actuator: middle}) is not None
        except EffortError:
            enough = True
        low, high = (low, middle - 1) if enough else (middle, high)
    return low


def _sides(divisions: Sequence[Division], counts: Counts) -> Sides:
    """The part of each actuator that each cell goes to, where it isn't the first."""
    sides: Sides = {actuator: {} for actuator in sorted(counts)}
    for division in divisions:
        block = division.block
        shares = division.shares(counts)
        assert shares is not None
        for cells, own, share in zip(block.members, block.moved_by, shares, strict=True):
            for actuator, at in zip((block.metering, *own), share, strict=True):
                if at:
                    sides[actuator].update(dict.fromkeys(cells, at))
    return {actuator: at for actuator, at in sides.items() if at}


def _splits(contention: Contention, sides: Sides) -> Iterator[Split]:
    machine, grid = contention.lane.machine, contention.lane.lane.grid
    for index, at in sides.items():
        actuator = machine.actuators[index]
        link = relinked(
            actuator.part, grid, {cell: at.get(n, 0) for n, cell in enumerate(grid.cells)}
        )
        own = (tuple(c for c in cells if c in actuator.cell_set) for cells in link.groups)
        yield Split(actuator, tuple(sorted(cells for cells in own if cells)))


def _links(contention: Contention, sides: Sides) -> Iterator[Relinked]:
    machine, lane = contention.lane.machine, contention.lane.lane
    grid = lane.grid
    parts: tuple[Part, ...] = (*lane.selectors, lane.metering)
    for part in parts:
        moved_by = [machine.actuator_of(part, grid, cell).index for cell in grid.cells]
        if not sides.keys().isdisjoint(moved_by):
            labels = [(index, sides.get(index, {}).get(n, 0)) for n, index in enumerate(moved_by)]
            yield relinked(part, grid, dict(zip(grid.cells, labels, strict=True)))
