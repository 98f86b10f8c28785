"""Which pass each need must go into, where there are hardly more passes than opposed needs.

Where as many needs as there are passes oppose each other, each pass loads one of them. Any other
need shares a pass with one that it agrees with; where there is only one such, the two are one from
then on, and may oppose more. Where there is room for a pass more, a need may go there as well. No
plan within so many passes is lost.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from seqc.solver.passes.colouring import clique, opposed
from seqc.solver.passes.reduction import Component
from seqc.solver.positions import bits
from seqc.solver.ways import Ways, actuators_in, agree, both, implied


@dataclass(frozen=True, slots=True)
class Sharing:
    """Needs of which each pass loads one at most, and `loose` ones that may go along with several.

    There is `room` for so many passes more that load none of the first.
    """

    passes: tuple[Ways, ...]
    loose: tuple[Ways, ...]
    room: int

    @property
    def needs(self) -> tuple[Ways, ...]:
        """All of them, those of the passes first."""
        return (*self.passes, *self.loose)

    @property
    def possible(self) -> bool:
        """Whether every loose need agrees with some pass, if there is no room for another one."""
        return bool(self.room) or all(_open_to(self.passes, ways) for ways in self.loose)

    @property
    def whole(self) -> bool:
        """Whether there is nothing to split: no loose need, and one way for each."""
        return not self.loose and all(len(ways) == 1 for ways in self.passes)

    def split(self) -> Iterator[Sharing]:
        """Each pass for one loose need: of those with the fewest the one that adds most.

        Where no need is loose, each way of a need with several.
        """
        splits = self._by_pass() if self.loose else self._by_way()
        return (split for split in splits if split.possible)

    def _by_way(self) -> Iterator[Sharing]:
        several = [ways for ways in self.passes if len(ways) > 1]
        chosen = min(several, key=len)
        for way in chosen:
            passes = [(way,) if ways is chosen else ways for ways in self.passes]
            yield Sharing(tuple(passes), (), self.room)

    def _by_pass(self) -> Iterator[Sharing]:
        chosen = min(self.loose, key=self._freedom)
        loose = [ways for ways in self.loose if ways != chosen]
        for number in _open_to(self.passes, chosen):
            yield _settled(_joined(self.passes, number, chosen), loose, self.room)
        if self.room:
            yield _settled([*self.passes, chosen], loose, self.room - 1)

    def _freedom(self, ways: Ways) -> tuple[int, int]:
        """To how many passes a need may go, and less the more positions it adds at least to one."""
        numbers = _open_to(self.passes, ways)
        wanted = actuators_in(ways)
        added = [(wanted & ~actuators_in(self.passes[n])).bit_count() for n in numbers]
        return len(numbers), -min(added, default=0)


def forced_sharing(needs: Sequence[Ways], count: int) -> Sharing:
    """The needs by the passes that they must go to, of so many."""
    leaders = clique(opposed(needs), (1 << len(needs)) - 1)
    others = [ways for number, ways in enumerate(needs) if not leaders >> number & 1]
    passes = [needs[number] for number in bits(leaders)]
    return _settled(passes, others, count - len(passes))


def with_forced_sharing(component: Component, count: int) -> Component:
    """The component with needs that must share one of so many passes taken together.

    Needs with several ways stay apart: together they have the product of their ways.
    """
    if len(component.needs) <= count or any(len(ways) > 1 for ways in component.needs):
        return component
    found = forced_sharing(component.needs, count)
    smaller = replace(component, needs=found.needs)
    tight = not found.room and len(smaller.colouring.classes) == count
    return smaller if tight else component


def _settled(passes: Sequence[Ways], loose: Sequence[Ways], room: int) -> Sharing:
    """Each need that can go to one pass only taken into that one, until there is none."""
    held, left = list(passes), list(loose)
    known = len(left) + 1
    while len(left) < known:
        known = len(left)
        left = _placed(held, left, len(passes) + room)
    return Sharing(tuple(held), tuple(left), len(passes) + room - len(held))


def _placed(held: list[Ways], loose: Sequence[Ways], count: int) -> list[Ways]:
    """Take into each of so many passes the needs that can go nowhere else; those that are left."""
    left = []
    for ways in loose:
        numbers = _open_to(held, ways)
        if any(implied(ways, held[number]) for number in numbers):
            continue
        if not numbers and len(held) < count:
            held.append(ways)
        elif len(numbers) == 1 and len(held) == count:
            held[:] = _joined(held, numbers[0], ways)
        else:
            left.append(ways)
    return left


def _open_to(passes: Sequence[Ways], ways: Ways) -> list[int]:
    return [number for number, held in enumerate(passes) if agree(held, ways)]


def _joined(passes: Sequence[Ways], number: int, ways: Ways) -> list[Ways]:
    return [both(held, ways) if at == number else held for at, held in enumerate(passes)]
