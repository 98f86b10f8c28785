"""The fewest actuators to add, by splitting linkages, so that a whole font can be loaded.

A repair splits actuators in several, each of which moves a part of the cells; it costs one more
latching solenoid for every part but the first. Whether so many parts are enough is asked of each
component of the conflict graph on its own (`partition`); how many parts each actuator gets is the
cheapest answer to all that the components demand (`covering`). One that isn't served by the answer
gives a further demand: the most parts that still are too few. So the last answer is the smallest
repair (an implicit hitting set; E. Moreno-Centeno and R. Karp, 2013).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Cell, Grid
from seqc.solver.needs import needs_of
from seqc.solver.passes.colouring import EffortError
from seqc.solver.reach.conflict_graph import components
from seqc.solver.reach.contradictions import contradictions
from seqc.solver.reach.covering import Demand, cheapest_cover
from seqc.solver.reach.font_needs import NO_ACTUATOR, FontNeeds, font_needs
from seqc.solver.reach.new_linkage import NewLinkage, linked_anew
from seqc.solver.reach.partition import MOST_VISITS, Effort, Partition
from seqc.solver.reach.partition_search import Counts, Parts
from seqc.solver.reach.splits import Split
from seqc.solver.reach.straight import PartOf, straightened

MOST_ROUNDS = 500
TRIAL_STEPS = 500


@dataclass(frozen=True)
class Repair:
    """Actuators to split so that every glyph can be loaded whose kinds are offered.

    `links` are the parts that they belong to with their new groups. No repair adds fewer than
    `lower_bound` actuators.
    """

    grid: Grid
    splits: tuple[Split, ...]
    links: tuple[NewLinkage, ...]
    lower_bound: int

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
        return self.added == self.lower_bound


def smallest_repair(
    machine: Machine, grid: str, glyphs: Iterable[Glyph], visits: int = MOST_VISITS
) -> Repair:
    """The fewest actuators to add so that all these glyphs of one grid can be loaded.

    Glyphs with kinds that their lane doesn't offer are left out. Nothing is split where all can be
    loaded already. Past so many `visits` of its search to cells, and where kinds come by several
    routes, the answer has a lower bound only: then each kind is given one of its routes.
    """
    lane = needs_of(machine, grid)
    needs = font_needs(lane, glyphs)
    found = _repair(needs, visits)
    if not needs.by_routes:
        return found
    lost = bool(contradictions(needs))
    by_one_route = _repair(replace(needs, one_route=True), visits) if lost else found
    bound = min(max(found.lower_bound, lost), by_one_route.added)
    return replace(by_one_route, lower_bound=bound)


def _repair(needs: FontNeeds, visits: int) -> Repair:
    found = components(needs)
    effort = Effort(visits)
    splitting = _Splitting([Partition(component, effort) for component in found])
    lower_bound = splitting.settle()
    part_of = straightened(needs, found, _part_of(splitting))
    splits = tuple(_splits(needs, part_of))
    links = tuple(_links(needs, part_of))
    return Repair(needs.lane.lane.grid, splits, links, lower_bound)


class _Splitting:
    """The components of a lane, and the parts to which their vertices go."""

    def __init__(self, partitions: Sequence[Partition]) -> None:
        self.partitions = partitions
        self.parts: list[tuple[Parts, ...]] = [()] * len(partitions)

    def settle(self) -> int:
        """Give every vertex its parts; answers with a lower bound of the actuators added."""
        sure = dict.fromkeys(d for each in self.partitions for d in _first_demands(each))
        doubted: dict[Demand, None] = {}
        for _ in range(MOST_ROUNDS):
            cover = cheapest_cover((*sure, *doubted))
            more = list(self._demands({a: 1 + number for a, number in cover.numbers.items()}))
            if not more:
                return cheapest_cover(sure).lower_bound if doubted else cover.lower_bound
            sure |= dict.fromkeys(demand for demand, is_sure in more if is_sure)
            doubted |= dict.fromkeys(demand for demand, is_sure in more if not is_sure)
            if self.partitions[0].effort.left <= 0:
                break
        cover = cheapest_cover(sure)
        self._settle_near({a: 1 + number for a, number in cover.numbers.items()})
        return cover.lower_bound

    def _demands(self, counts: Counts) -> Iterator[tuple[Demand, bool]]:
        """What the components demand that so many parts don't serve, and whether that is sure."""
        for number, partition in enumerate(self.partitions):
            try:
                parts = partition.parts(counts)
            except EffortError:
                yield tuple((a, counts.get(a, 1)) for a in _actuators(partition)), False
                continue
            if parts is None:
                yield _demand(partition, counts), True
            else:
                self.parts[number] = parts

    def _settle_near(self, counts: dict[int, int]) -> None:
        """Give parts that are not many more than these, in little time."""
        for number, partition in enumerate(self.partitions):
            gate = partition.component.gate
            gates, self.parts[number] = partition.enough(counts)
            counts[gate] = max(counts.get(gate, 1), gates)


def _actuators(partition: Partition) -> list[int]:
    """The actuators whose split could help a component, in order."""
    component = partition.component
    return sorted((component.gate, *component.split_candidates))


def _first_demands(partition: Partition) -> Iterator[Demand]:
    """For each selector: either the gate has more than so many parts, or the selector enough."""
    gate = partition.component.gate
    for actuator, colouring in partition.colourings.items():
        parts = 1
        while parts < colouring.lower_bound:
            needed = -(-colouring.lower_bound // parts)
            parts = -(-colouring.lower_bound // (needed - 1))
            yield tuple(sorted(((gate, parts - 1), (actuator, needed - 1))))


def _demand(partition: Partition, counts: Counts) -> Demand:
    """What a component demands that isn't served by so many parts: more than the most too few."""
    too_few = {actuator: counts.get(actuator, 1) for actuator in _actuators(partition)}
    for actuator in too_few:
        too_few[actuator] = _most_too_few(partition, too_few, actuator)
    return tuple((a, n) for a, n in too_few.items() if n < partition.most(a))


def _most_too_few(partition: Partition, too_few: dict[int, int], actuator: int) -> int:
    """How many parts of one actuator are surely too few, the others having as many as given."""
    low, high = too_few[actuator], partition.most(actuator)
    tried = high
    while low < high:
        try:
            enough = partition.parts({**too_few, actuator: tried}, TRIAL_STEPS) is not None
        except EffortError:
            break
        low, high = (low, tried - 1) if enough else (tried, high)
        tried = (low + high + 1) // 2
    return low


def _part_of(splitting: _Splitting) -> PartOf:
    """The part of each actuator that each cell goes to, where it isn't the first."""
    part_of: PartOf = {}
    for partition, several in zip(splitting.partitions, splitting.parts, strict=True):
        own = partition.component
        for cells, selectors, parts in zip(own.vertices, own.selectors, several, strict=True):
            for actuator, at in zip((own.gate, *selectors), parts, strict=True):
                if at:
                    part_of.setdefault(actuator, {}).update(dict.fromkeys(cells, at))
    return {actuator: part_of[actuator] for actuator in sorted(part_of)}


def _splits(needs: FontNeeds, part_of: PartOf) -> Iterator[Split]:
    index_of = needs.lane.lane.grid.index_of
    for index, at in part_of.items():
        actuator = needs.lane.machine.actuators[index]
        parts: dict[int, list[Cell]] = {}
        for cell in actuator.cells:
            parts.setdefault(at.get(index_of[cell], 0), []).append(cell)
        yield Split(actuator, tuple(sorted(map(tuple, parts.values()))))


def _links(needs: FontNeeds, part_of: PartOf) -> Iterator[NewLinkage]:
    grid = needs.lane.lane.grid
    for part, moved_by in zip(needs.parts, zip(*needs.moved_by, strict=True), strict=True):
        if not part_of.keys().isdisjoint(moved_by):
            labels = {
                grid.cells[n]: (index, part_of.get(index, {}).get(n, 0))
                for n, index in enumerate(moved_by)
                if index != NO_ACTUATOR
            }
            yield linked_anew(part, grid, labels)
