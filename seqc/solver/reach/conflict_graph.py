"""The conflict graph of a font: which cells must be told apart so that all of it can be loaded.

Two cells that one actuator loads and one selector actuator moves conflict where one glyph needs
that selector in opposite positions in the two of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import or_

from seqc.solver.needs import MeteringGroup
from seqc.solver.positions import bits
from seqc.solver.reach.font_needs import NO_ACTUATOR, FontNeeds


@dataclass(frozen=True, eq=False)
class Component:
    """A connected component of the conflict graph, within the cells of one metering actuator.

    A vertex is a set of cells that want the same kinds in every glyph and are moved by the same
    actuators. `selectors` has for each vertex the actuator of each selector part, `conflicts` for
    each selector part and vertex the bit set of the vertices that conflict with it.
    """

    gate: int
    vertices: tuple[tuple[int, ...], ...]
    selectors: tuple[tuple[int, ...], ...]
    conflicts: tuple[tuple[int, ...], ...]

    @property
    def parts(self) -> tuple[int, ...]:
        """The numbers of the selector parts that have conflicts."""
        return tuple(part for part, masks in enumerate(self.conflicts) if any(masks))

    @property
    def split_candidates(self) -> tuple[int, ...]:
        """The selector actuators whose split could help, in order."""
        own = {own[part] for own in self.selectors for part in self.parts}
        return tuple(sorted(own - {NO_ACTUATOR}))

    @property
    def graph(self) -> list[int]:
        """For each vertex those that conflict with it by any selector part."""
        return [reduce(or_, masks) for masks in zip(*self.conflicts, strict=True)]


def components(needs: FontNeeds) -> tuple[Component, ...]:
    """Every component of two vertices or more, of the glyphs that can't be loaded as it is."""
    return tuple(each for group in needs.lane.groups for each in _components_of(needs, group))


def _components_of(needs: FontNeeds, group: MeteringGroup) -> Iterator[Component]:
    lost = reduce(or_, needs.opposed(group.cells).values(), 0)
    if not lost:
        return
    vertices = _vertices(needs, group.cells, lost)
    first = [cells[0] for cells in vertices]
    conflicts = [_conflicts(needs, first, part) for part in range(len(needs.parts) - 1)]
    for some in _connected([reduce(or_, masks) for masks in zip(*conflicts, strict=True)]):
        yield Component(
            group.actuator.index,
            tuple(vertices[number] for number in some),
            tuple(needs.moved_by[first[number]][:-1] for number in some),
            tuple(tuple(renumbered(masks[number], some) for number in some) for masks in conflicts),
        )


def _vertices(needs: FontNeeds, cells: Iterable[int], glyphs: int) -> list[tuple[int, ...]]:
    """The cells in sets that are moved alike and want the same in all of some glyphs."""
    alike: dict[object, list[int]] = {}
    for cell in cells:
        own = sorted(needs.glyphs_by_kind[cell].items())
        masks = tuple((kind, mask & glyphs) for kind, mask in own if mask & glyphs)
        alike.setdefault((needs.moved_by[cell], masks), []).append(cell)
    return [tuple(members) for members in alike.values()]


def _conflicts(needs: FontNeeds, cells: Sequence[int], part: int) -> list[int]:
    """For each of some cells the bit set of those that conflict with it by one part."""
    found = [0] * len(cells)
    together: dict[int, list[int]] = {}
    for number, cell in enumerate(cells):
        together.setdefault(needs.moved_by[cell][part], []).append(number)
    for actuator, numbers in together.items():
        both = [needs.needs[cells[number]] for number in numbers]
        sides = [(rest.get(actuator, 0), thrown.get(actuator, 0)) for rest, thrown in both]
        for i, (rest, thrown) in enumerate(sides):
            for j in range(i):
                if rest & sides[j][1] or thrown & sides[j][0]:
                    found[numbers[i]] |= 1 << numbers[j]
                    found[numbers[j]] |= 1 << numbers[i]
    return found


def _connected(graph: Sequence[int]) -> list[list[int]]:
    """The vertices of each connected component that has an edge, in order."""
    from networkx.utils import UnionFind

    union = UnionFind(range(len(graph)))
    for vertex, mask in enumerate(graph):
        union.union(vertex, *bits(mask))
    return sorted(sorted(some) for some in union.to_sets() if len(some) > 1)


def renumbered(mask: int, some: Sequence[int]) -> int:
    """A bit set of numbers as one of their ranks in a list of some."""
    return sum(1 << new for new, old in enumerate(some) if mask >> old & 1)
