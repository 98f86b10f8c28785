"""Brute force for fonts out of reach: every way to split actuators, every cell moved elsewhere.

Links are a tuple of labels for each part, the metering gate last; cells of equal labels move
together. What a cell gets is found by walking down its feed for every position of everything.
"""

from __future__ import annotations

import functools
import itertools
from collections.abc import Iterator, Sequence

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Branch, Feed, Part, walk_feed

Links = tuple[tuple[int, ...], ...]


def links_of(machine: Machine) -> Links:
    """The links of the machine's first grid as they are."""
    lane = machine.lanes[0]
    parts: tuple[Part, ...] = (*lane.selectors, lane.metering)
    return tuple(
        tuple(machine.actuator_of(part, lane.grid, cell).index for cell in lane.grid.cells)
        for part in parts
    )


def actuators_in(links: Links) -> int:
    """How many actuators the links need."""
    return sum(len(set(labels)) for labels in links)


def fewest_wrong(machine: Machine, links: Links, glyph: Glyph) -> int:
    """The fewest cells in which a picture within reach differs from the glyph."""
    groups: dict[int, list[int]] = {}
    for cell, label in enumerate(links[-1]):
        groups.setdefault(label, []).append(cell)
    return sum(wrong_in(machine, links, glyph, cells) for cells in groups.values())


def wrong_in(machine: Machine, links: Links, glyph: Glyph, cells: Sequence[int]) -> int:
    """The fewest of some cells to be wrong when they are loaded together."""
    offered = _offered(
        machine.lanes[0].feed, tuple(tuple(labels[cell] for cell in cells) for labels in links)
    )
    wanted = [glyph.kinds[cell] for cell in cells]
    return min(sum(a != b for a, b in zip(kinds, wanted, strict=True)) for kinds in offered)


@functools.lru_cache(maxsize=100_000)
def _offered(feed: Feed, links: Links) -> frozenset[tuple[str, ...]]:
    """All that cells of such links can be offered at one time."""
    names = [node.selector.name for node in walk_feed(feed) if isinstance(node, Branch)]
    used = sorted({(n, label) for n in range(len(names)) for label in links[n]})
    found = set()
    for setting in itertools.product((False, True), repeat=len(used)):
        thrown = dict(zip(used, setting, strict=True))
        kinds = []
        for cell in range(len(links[-1])):
            at = feed
            while isinstance(at, Branch):
                number = names.index(at.selector.name)
                at = at.thrown if thrown[number, links[number][cell]] else at.rest
            kinds.append(at.name)
        found.add(tuple(kinds))
    return frozenset(found)


def shows_all(machine: Machine, links: Links, glyphs: Sequence[Glyph]) -> bool:
    """Whether every glyph is within reach under the links."""
    return all(fewest_wrong(machine, links, glyph) == 0 for glyph in glyphs)


def fewest_added(machine: Machine, glyphs: Sequence[Glyph], most: int) -> int | None:
    """The fewest actuators to add by splitting, None if it is more than `most`."""
    links = links_of(machine)
    for added in range(most + 1):
        if any(shows_all(machine, split, glyphs) for split in _splits(links, added)):
            return added
    return None


def _splits(links: Links, added: int) -> Iterator[Links]:
    """Every refinement of the links with so many actuators more."""
    options = [list(_refinements(labels, added)) for labels in links]
    for shares in itertools.product(range(added + 1), repeat=len(links)):
        if sum(shares) == added:
            yield from itertools.product(
                *(
                    [labels for labels, more in own if more == share]
                    for own, share in zip(options, shares, strict=True)
                )
            )


def _refinements(labels: tuple[int, ...], most: int) -> Iterator[tuple[tuple[int, ...], int]]:
    """Every way to split some groups, and how many more there are then."""
    partial: list[list[tuple[int, int]]] = [[]]
    for cell, label in enumerate(labels):
        grown = []
        for some in partial:
            used = {
                side for (at, side), old in zip(some, labels[:cell], strict=True) if at == label
            }
            sides = [*sorted(used), len(used)]
            grown += [[*some, (label, side)] for side in sides]
        partial = [some for some in grown if len(set(some)) - len({at for at, _ in some}) <= most]
    for some in partial:
        numbers = {pair: number for number, pair in enumerate(sorted(set(some)))}
        more = len(numbers) - len(set(labels))
        yield tuple(numbers[pair] for pair in some), more


def fewest_moved(machine: Machine, glyphs: Sequence[Glyph], most: int) -> int | None:
    """The fewest cells to move to other groups of a part, None if it is more than `most`."""
    links = links_of(machine)
    places = [(part, cell) for part in range(len(links)) for cell in range(len(links[part]))]
    for count in range(most + 1):
        for moved in itertools.combinations(places, count):
            others = [sorted(set(links[part]) - {links[part][cell]}) for part, cell in moved]
            for labels in itertools.product(*others):
                changed = [list(own) for own in links]
                for (part, cell), label in zip(moved, labels, strict=True):
                    changed[part][cell] = label
                if shows_all(machine, tuple(map(tuple, changed)), glyphs):
                    return count
    return None
