"""Whether the cells of a block can be told apart by so many parts of each of its actuators.

Each member gets a part of its metering actuator and of each of its selector actuators; two members
at odds must differ in their metering parts or in those of every selector actuator that they are at
odds by. Where all is about one selector part this is colouring with as many colours as there are
pairs of parts. Otherwise a search takes the member with the fewest choices left.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, reduce
from itertools import product
from math import prod
from operator import or_

from seqc.solver.agreement import can_all_hold
from seqc.solver.colouring import ClassSearch, Colouring, EffortError
from seqc.solver.contention import Block, renumbered
from seqc.solver.positions import Positions, bits
from seqc.solver.ways import ALWAYS, Ways

MOST_STEPS = 5_000
MOST_VISITS = 3_000_000
WISH_WEIGHT = 5
MOST_STARTS = 16
MOST_SHARES = 20_000

Counts = Mapping[int, int]
"""How many parts an actuator is to be in; one where nothing is said."""

Share = tuple[int, ...]
"""The number of a member's part of its metering actuator and of that of each selector part."""


def fewest_colours(graph: Sequence[int], effort: int = MOST_STEPS) -> Colouring:
    """The vertices of a graph in as few classes without edges as can be, or as the effort finds."""
    everything = (1 << len(graph)) - 1
    if all(mask == everything ^ 1 << vertex for vertex, mask in enumerate(graph)):
        return Colouring(tuple((vertex,) for vertex in range(len(graph))), len(graph))
    search = ClassSearch([ALWAYS] * len(graph), graph)
    least = _clique_size(graph)
    best = search.classes(everything, len(graph), len(graph) + 1)
    assert best is not None
    try:
        while least < len(best):
            found = search.classes(everything, least, effort)
            if found is not None:
                return Colouring(found, least)
            least += 1
    except EffortError:
        pass
    return Colouring(best, least)


def _clique_size(graph: Sequence[int]) -> int:
    """The size of the largest clique found around the vertices of most edges."""
    starts = sorted(range(len(graph)), key=lambda vertex: -graph[vertex].bit_count())
    return max(1 + _grown(graph, graph[start]) for start in starts[:MOST_STARTS])


def _grown(graph: Sequence[int], left: int) -> int:
    size = 0
    while left:
        chosen = max(bits(left), key=lambda vertex: (graph[vertex] & left).bit_count())
        left &= graph[chosen]
        size += 1
    return size


@dataclass
class Effort:
    """How many visits to members the searches of all blocks together may still make."""

    left: int = MOST_VISITS


@dataclass(frozen=True, eq=False)
class Division:
    """The parts of one block."""

    block: Block
    effort: Effort

    @cached_property
    def colourings(self) -> dict[int, Colouring]:
        """For each selector actuator, its members at odds told apart by as few parts as can be.

        The parts of the metering actuator times those of the selector are no fewer than that.
        """
        block = self.block
        found = {}
        for part in block.disputed:
            for actuator in sorted({own[part] for own in block.moved_by}):
                some = [n for n, own in enumerate(block.moved_by) if own[part] == actuator]
                graph = [renumbered(block.opposed[part][n], some) for n in some]
                found[actuator] = fewest_colours(graph)
        return found

    @cached_property
    def is_plain(self) -> bool:
        """Whether all is about one selector actuator and no kind comes by several routes."""
        return len(self.block.selectors) == 1 and not self.block.wishes

    def may_do(self, counts: Counts) -> bool:
        """Whether so many parts are enough as far as each selector alone can tell."""
        gates = counts.get(self.block.metering, 1)
        return all(
            gates * counts.get(actuator, 1) >= colouring.least
            for actuator, colouring in self.colourings.items()
        )

    def shares(self, counts: Counts, most: int = MOST_STEPS) -> tuple[Share, ...] | None:
        """A share for each member, or None if so many parts are not enough.

        Raises EffortError when that can't be told with about so many shares tried at `most`.
        """
        if not self.may_do(counts):
            return None
        if self.is_plain:
            return self._plain_shares(counts)
        if self.effort.left <= 0:
            raise EffortError
        search = _Search(self.block, counts)
        visits = len(self.block.members) * (1 + WISH_WEIGHT * len(self.block.wishes))
        steps = min(most, 1 + self.effort.left // visits)
        try:
            return search.shares(steps)
        finally:
            self.effort.left -= (steps - search.left) * visits

    def enough(self, counts: Counts) -> tuple[int, tuple[Share, ...]]:
        """A number of gate parts from that of `counts` on with which shares are soon found."""
        if self.block.wishes:
            return self.most(self.block.metering), self._told_apart
        for gates in range(counts.get(self.block.metering, 1), self.most(self.block.metering)):
            more = {**counts, self.block.metering: gates}
            try:
                if self.is_plain or not self.may_do(more):
                    found = self.shares(more)
                else:
                    found = _Search(self.block, more).shares(2 * len(self.block.members))
            except EffortError:
                continue
            if found is not None:
                return gates, found
        return self.most(self.block.metering), self._told_apart

    @property
    def _told_apart(self) -> tuple[Share, ...]:
        """Shares with which no selector need be split."""
        rest = (0,) * len(self.block.opposed)
        if self.block.wishes:
            return tuple((number, *rest) for number in range(len(self.block.members)))
        gate_of = {
            member: number
            for number, members in enumerate(self._without_selectors.classes)
            for member in members
        }
        return tuple((gate_of[member], *rest) for member in range(len(self.block.members)))

    def most(self, actuator: int) -> int:
        """So many parts of an actuator that more wouldn't help."""
        block = self.block
        if block.wishes:
            return len(block.members)
        if actuator != block.metering:
            return len(self.colourings[actuator].classes)
        return len(self._without_selectors.classes)

    @cached_property
    def _without_selectors(self) -> Colouring:
        """The members told apart by their metering parts alone."""
        graph = [reduce(or_, masks) for masks in zip(*self.block.opposed, strict=True)]
        return fewest_colours(graph)

    def _plain_shares(self, counts: Counts) -> tuple[Share, ...]:
        (selector,) = self.block.selectors
        (part,) = self.block.disputed
        classes = self.colourings[selector].classes
        gates = counts.get(self.block.metering, 1)
        if gates * counts.get(selector, 1) < len(classes):
            raise EffortError
        shares = [[0] * (1 + len(self.block.opposed)) for _ in self.block.members]
        for number, members in enumerate(classes):
            for member in members:
                shares[member][1 + part], shares[member][0] = divmod(number, gates)
        return tuple(map(tuple, shares))


@dataclass
class _Step:
    """A member that is given a share: the shares not yet tried, and what was open before."""

    member: int
    untried: list[int]
    open_before: list[int]
    used_before: dict[int, int]


class _Search:
    """Gives shares to the members of one block, depth first on a stack."""

    def __init__(self, block: Block, counts: Counts) -> None:
        self.block = block
        self.counts = counts
        sizes = [counts.get(block.metering, 1)]
        for part in range(len(block.opposed)):
            own = {moved[part] for moved in block.moved_by} if part in block.disputed else set()
            sizes.append(max((counts.get(actuator, 1) for actuator in own), default=1))
        if prod(sizes) > MOST_SHARES:
            raise EffortError
        self.shares_by_number = list(product(*map(range, sizes)))
        self.planes = [[0] * size for size in sizes]
        for number, share in enumerate(self.shares_by_number):
            for axis, at in enumerate(share):
                self.planes[axis][at] |= 1 << number
        self.degrees = [
            sum(masks[member].bit_count() for masks in block.opposed)
            for member in range(len(block.members))
        ]
        self.left = 0
        self.routes = _Routes(block, counts) if block.wishes else None

    def shares(self, most: int) -> tuple[Share, ...] | None:
        """A share for each member or None; raises EffortError after so many were tried."""
        self.left = most
        block = self.block
        open_to = [self._open_at_first(member) for member in range(len(block.members))]
        used: dict[int, int] = {}
        given: dict[int, Share] = {}
        steps: list[_Step] = []
        while len(given) < len(block.members):
            member = self._tightest(open_to, given)
            step = _Step(member, self._choices(member, open_to[member], used), open_to, used)
            while not self._give(step, given):
                if not steps:
                    return None
                step = steps.pop()
            steps.append(step)
            used = self._used(step, given[step.member])
            open_to = self._narrowed(step, given[step.member])
        return tuple(given[member] for member in range(len(block.members)))

    def _open_at_first(self, member: int) -> int:
        found = (1 << len(self.shares_by_number)) - 1
        for part, actuator in enumerate(self.block.moved_by[member], 1):
            some = self.planes[part][: self.counts.get(actuator, 1)]
            found &= sum(some)
        return found

    def _tightest(self, open_to: Sequence[int], given: Mapping[int, Share]) -> int:
        left = (member for member in range(len(open_to)) if member not in given)
        return min(left, key=lambda member: (open_to[member].bit_count(), -self.degrees[member]))

    def _choices(self, member: int, open_to: int, used: Mapping[int, int]) -> list[int]:
        """The open shares, last first; of the parts that nothing is in only the first is tried."""
        actuators = (self.block.metering, *self.block.moved_by[member])
        limits = [used.get(actuator, 0) for actuator in actuators]
        return [
            number
            for number in reversed(list(bits(open_to)))
            if all(a <= b for a, b in zip(self.shares_by_number[number], limits, strict=True))
        ]

    def _used(self, step: _Step, share: Share) -> dict[int, int]:
        actuators = (self.block.metering, *self.block.moved_by[step.member])
        used = dict(step.used_before)
        for actuator, at in zip(actuators, share, strict=True):
            used[actuator] = max(used.get(actuator, 0), at + 1)
        return used

    def _give(self, step: _Step, given: dict[int, Share]) -> bool:
        """Give the member the next share with which all wishes can still be met; False if none."""
        while step.untried:
            self.left -= 1
            if self.left < 0:
                raise EffortError
            given[step.member] = self.shares_by_number[step.untried.pop()]
            if self.routes is None or self.routes.lead(step.member, given):
                return True
        given.pop(step.member, None)
        return False

    def _narrowed(self, step: _Step, share: Share) -> list[int]:
        """What is open to each member after one was given its share."""
        open_to = list(step.open_before)
        for part, masks in enumerate(self.block.opposed, 1):
            clash = self.planes[0][share[0]] & self.planes[part][share[part]]
            for other in bits(masks[step.member]):
                open_to[other] &= ~clash
        return open_to


class _Routes:
    """Whether kinds that come by several routes can still be had by all members of a part."""

    def __init__(self, block: Block, counts: Counts) -> None:
        self.block = block
        self.known: dict[tuple[int, int, Share], Ways] = {}
        self.first_bit: dict[int, int] = {}
        bit = 0
        for actuator in sorted({actuator for own in block.moved_by for actuator in own}):
            self.first_bit[actuator] = bit
            bit += counts.get(actuator, 1)

    def lead(self, member: int, given: Mapping[int, Share]) -> bool:
        """Whether every wish can be met among those in the same metering part as one member."""
        gate = given[member][0]
        together = [other for other, share in given.items() if share[0] == gate]
        return all(
            can_all_hold(self._ways(number, other, given[other]) for other in together)
            for number in range(len(self.block.wishes))
        )

    def _ways(self, number: int, member: int, share: Share) -> Ways:
        """The ways of a member in one wish, in terms of the parts of actuators."""
        key = number, member, share
        if key not in self.known:
            bit_of = {
                actuator: self.first_bit[actuator] + share[part]
                for part, actuator in enumerate(self.block.moved_by[member], 1)
            }
            self.known[key] = tuple(
                Positions(_moved(way.known, bit_of), _moved(way.thrown, bit_of))
                for way in self.block.wishes[number][member]
            )
        return self.known[key]


def _moved(mask: int, bit_of: Mapping[int, int]) -> int:
    return sum(1 << bit_of[actuator] for actuator in bits(mask))
