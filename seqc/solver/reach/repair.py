"""The fewest actuators to add, by splitting linkages, so that a whole font can be loaded.

A repair splits actuators in several, each of which moves a part of the cells; it costs one more
latching solenoid for every part but the first. Whether so many parts are enough is asked of each
block on its own (`division`); how many parts each actuator gets is the cheapest answer
to all that the blocks demand (`levels`). A block that isn't served by the answer gives
a further demand: the most parts that still are too few. So the last answer is the smallest repair
(an implicit hitting set; E. Moreno-Centeno and R. Karp, 2013).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Grid, Part
from seqc.solver.needs import needs_of
from seqc.solver.passes.colouring import EffortError
from seqc.solver.reach.contention import Contention, contention_of
from seqc.solver.reach.division import MOST_VISITS, Division, Effort
from seqc.solver.reach.levels import Demand, cheapest_levels
from seqc.solver.reach.linking import Relinked, relinked
from seqc.solver.reach.shares import Counts, Share
from seqc.solver.reach.sides import Sides, straightened
from seqc.solver.reach.splits import Split

MOST_ROUNDS = 500
TRIAL_STEPS = 500


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


def smallest_repair(
    machine: Machine, grid: str, glyphs: Iterable[Glyph], visits: int = MOST_VISITS
) -> Repair:
    """The fewest actuators to add so that all these glyphs of one grid can be loaded.

    Glyphs with kinds that their lane doesn't offer are left out. Nothing is split where all can be
    loaded already. Past so many `visits` of its search to cells the answer has a lower bound only.
    """
    contention = contention_of(needs_of(machine, grid), glyphs)
    found = _repair(contention, visits)
    if contention.loose and not found.proven:
        other = _repair(replace(contention, one_route=True), visits)
        if other.added < found.added:
            return replace(other, least=found.least)
    return found


def _repair(contention: Contention, visits: int) -> Repair:
    effort = Effort(visits)
    shared = _Shared([Division(block, effort) for block in contention.blocks])
    least = shared.settle()
    sides = straightened(contention, _sides(shared))
    splits = tuple(_splits(contention, sides))
    return Repair(contention.lane.lane.grid, splits, tuple(_links(contention, sides)), least)


class _Shared:
    """The blocks of a lane, and the shares that their members get."""

    def __init__(self, divisions: Sequence[Division]) -> None:
        self.divisions = divisions
        self.shares: list[tuple[Share, ...]] = [()] * len(divisions)

    def settle(self) -> int:
        """Give every member a share; answers with a lower bound of the actuators added."""
        sure = dict.fromkeys(d for division in self.divisions for d in _first_demands(division))
        doubted: dict[Demand, None] = {}
        for _ in range(MOST_ROUNDS):
            levels = cheapest_levels((*sure, *doubted))
            counts = {actuator: 1 + level for actuator, level in levels.levels.items()}
            more = list(self._demands(counts))
            if not more:
                return cheapest_levels(sure).least if doubted else levels.least
            sure |= dict.fromkeys(demand for demand, is_sure in more if is_sure)
            doubted |= dict.fromkeys(demand for demand, is_sure in more if not is_sure)
            if self.divisions[0].effort.left <= 0:
                break
        bound = cheapest_levels(sure)
        self._settle_near({actuator: 1 + level for actuator, level in bound.levels.items()})
        return bound.least

    def _demands(self, counts: Counts) -> Iterator[tuple[Demand, bool]]:
        """What the blocks demand that so many parts don't serve; the others get their shares."""
        for number, division in enumerate(self.divisions):
            try:
                shares = division.shares(counts)
            except EffortError:
                block = division.block
                actuators = sorted((block.metering, *block.selectors))
                yield tuple((actuator, counts.get(actuator, 1)) for actuator in actuators), False
                continue
            if shares is None:
                yield _demand(division, counts), True
            else:
                self.shares[number] = shares

    def _settle_near(self, counts: dict[int, int]) -> None:
        """Give shares with parts not far from these, in little time."""
        for number, division in enumerate(self.divisions):
            gate = division.block.metering
            gates, self.shares[number] = division.enough(counts)
            counts[gate] = max(counts.get(gate, 1), gates)


def _first_demands(division: Division) -> Iterator[Demand]:
    """For each selector: either the gate has more than so many parts, or the selector enough."""
    gate = division.block.metering
    for actuator, colouring in division.colourings.items():
        parts = 1
        while parts < colouring.least:
            needed = -(-colouring.least // parts)
            parts = -(-colouring.least // (needed - 1))
            yield tuple(sorted(((gate, parts - 1), (actuator, needed - 1))))


def _demand(division: Division, counts: Counts) -> Demand:
    """What a block demands that isn't served by so many parts: more than the most too few."""
    actuators = sorted((division.block.metering, *division.block.selectors))
    too_few = {actuator: counts.get(actuator, 1) for actuator in actuators}
    for actuator in actuators:
        too_few[actuator] = _most_too_few(division, too_few, actuator)
    return tuple((a, n) for a, n in too_few.items() if n < division.most(a))


def _most_too_few(division: Division, too_few: dict[int, int], actuator: int) -> int:
    """How many parts of one actuator are surely too few, the others having as many as given."""
    low, high = too_few[actuator], division.most(actuator)
    tried = high
    while low < high:
        try:
            enough = division.shares({**too_few, actuator: tried}, TRIAL_STEPS) is not None
        except EffortError:
            break
        low, high = (low, tried - 1) if enough else (tried, high)
        tried = (low + high + 1) // 2
    return low


def _sides(shared: _Shared) -> Sides:
    """The part of each actuator that each cell goes to, where it isn't the first."""
    sides: Sides = {}
    for division, shares in zip(shared.divisions, shared.shares, strict=True):
        block = division.block
        for cells, own, share in zip(block.members, block.moved_by, shares, strict=True):
            for actuator, at in zip((block.metering, *own), share, strict=True):
                if at:
                    sides.setdefault(actuator, {}).update(dict.fromkeys(cells, at))
    return {actuator: sides[actuator] for actuator in sorted(sides)}


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
