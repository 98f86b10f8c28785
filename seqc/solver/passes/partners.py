"""Which pass each need must go into, where there are no more passes than opposed needs.

Where as many needs as there are passes oppose each other, each pass loads one of them. Any other
need shares a pass with one that it agrees with; where there is only one such, the two are one from
then on, and may oppose more. No plan within so many passes is lost.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from seqc.solver.passes.colouring import clique, opposed
from seqc.solver.passes.reduction import Component
from seqc.solver.positions import bits
from seqc.solver.ways import Ways, actuators_in, agree, both, implied


@dataclass(frozen=True, slots=True)
class Partners:
    """Needs of which each pass loads one, and `loose` ones that may go to several passes."""

    passes: tuple[Ways, ...]
    loose: tuple[Ways, ...]

    @property
    def needs(self) -> tuple[Ways, ...]:
        """All of them."""
        return (*self.passes, *self.loose)

    def split(self) -> Iterator[Partners]:
        """Each pass for one loose need: of those with the fewest the one that adds most."""
        chosen = min(self.loose, key=self._freedom)
        loose = [ways for ways in self.loose if ways != chosen]
        for number in _open_to(self.passes, chosen):
            yield _settled(_joined(self.passes, number, chosen), loose)

    def _freedom(self, ways: Ways) -> tuple[int, int]:
        """To how many passes a need may go, and less the more positions it adds at least to one."""
        numbers = _open_to(self.passes, ways)
        wanted = actuators_in(ways)
        added = [(wanted & ~actuators_in(self.passes[n])).bit_count() for n in numbers]
        return len(numbers), -min(added, default=0)


def partners(needs: Sequence[Ways], count: int) -> Partners | None:
    """The needs by the passes that they must go to, of so many.

    None where needs have several ways, or where no such number of opposed needs is found.
    """
    if any(len(ways) > 1 for ways in needs):
        return None
    leaders = clique(opposed(needs), (1 << len(needs)) - 1)
    if leaders.bit_count() < count:
        return None
    others = [ways for number, ways in enumerate(needs) if not leaders >> number & 1]
    return _settled([needs[number] for number in bits(leaders)], others)


def with_partners(component: Component, count: int) -> Component:
    """The component with needs that must share one of so many passes taken together."""
    found = partners(component.needs, count) if len(component.needs) > count else None
    if found is None:
        return component
    smaller = replace(component, needs=found.needs)
    return smaller if len(smaller.colouring.classes) == count else component


def _settled(passes: Sequence[Ways], loose: Sequence[Ways]) -> Partners:
    """Each need that can go to one pass only taken into that one, until there is none."""
    held, left = list(passes), list(loose)
    known = len(left) + 1
    while len(left) < known:
        known = len(left)
        left = _placed(held, left)
    return Partners(tuple(held), tuple(left))


def _placed(held: list[Ways], loose: Sequence[Ways]) -> list[Ways]:
    """Take into each pass the needs that can go nowhere else; those that are left."""
    left = []
    for ways in loose:
        numbers = _open_to(held, ways)
        if len(numbers) == 1:
            held[:] = _joined(held, numbers[0], ways)
        elif not any(implied(ways, held[number]) for number in numbers):
            left.append(ways)
    return left


def _open_to(passes: Sequence[Ways], ways: Ways) -> list[int]:
    return [number for number, held in enumerate(passes) if agree(held, ways)]


def _joined(passes: Sequence[Ways], number: int, ways: Ways) -> list[Ways]:
    return [both(held, ways) if at == number else held for at, held in enumerate(passes)]
