"""Shares for the members of a block: a part of the gate and of each selector that moves them.

Two members at odds must differ in their gate parts or in those of every selector that they are at
odds by. The search takes the member with the fewest shares left, depth first on a stack.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from math import prod

from seqc.solver.passes.colouring import EffortError
from seqc.solver.positions import Positions, bits
from seqc.solver.reach.agreement import can_all_hold
from seqc.solver.reach.contention import Block
from seqc.solver.ways import Ways

MOST_SHARES = 20_000

Counts = Mapping[int, int]
"""How many parts an actuator is to be in; one where nothing is said."""

Share = tuple[int, ...]
"""The number of a member's part of its metering actuator and of that of each selector part."""


@dataclass
class _Step:
    """A member that is given a share: the shares not yet tried, and what was open before."""

    member: int
    untried: list[int]
    open_before: list[int]
    used_before: dict[int, int]


class ShareSearch:
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
