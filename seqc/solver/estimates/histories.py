"""Histories: what a way through stops remembers, its last two stops or more.

A step's pulses depend on more than the last stop, since an actuator that stops leave open stands
where an earlier one wanted it. From a history to a stop at least those actuators must move on which
the stop is opposed to the last stop of the history that speaks of them. All histories of two stops
are there, and longer ones where they were asked for; a step leads to the longest history that there
is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from seqc.solver.estimates.ascent import Steps
from seqc.solver.positions import Positions, bits

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Demands = NDArray[np.int8]
    Words = NDArray[np.uint64]

FAR = 10_000
"""A step that isn't allowed; no step takes as many pulses."""

History = tuple[int, ...]


@dataclass
class Histories:
    """The histories through places: 0 is the start, then come the stops, the last place is the end.

    The way is a round: from the end it goes to the start, at no cost. `demands` has a row for each
    place (1 thrown, -1 at rest, 0 open), `holds` the same for each history. `steps` are the pulses
    from each history to each place, `after` the number of the history that a step leads to.
    """

    demands: Demands
    names: list[History]
    holds: Demands
    steps: NDArray[np.int16]
    after: NDArray[np.int32]

    @cached_property
    def numbers(self) -> dict[History, int]:
        """The number of each history by its stops."""
        return {name: number for number, name in enumerate(self.names)}

    @cached_property
    def _longer(self) -> list[list[int]]:
        """For each history those that have one stop more before it."""
        return [[] for _ in self.names]

    @property
    def places(self) -> int:
        """How many places there are."""
        return len(self.demands)

    @property
    def end(self) -> int:
        """The number of the end."""
        return len(self.demands) - 1

    @property
    def first(self) -> int:
        """The history with which a way begins."""
        return self.numbers[self.end, 0]

    def some(self, chosen: NDArray[np.bool_]) -> Steps:
        """The steps from histories to places that are chosen."""
        import numpy as np

        places, histories = np.nonzero(chosen.T)
        pulses = self.steps[histories, places].astype(float)
        return Steps(histories, places, self.after[histories, places].astype(np.intp), pulses)

    def lengthened(self, history: int, place: int) -> History | None:
        """The history to which a step should lead so that one stop more is remembered.

        None where the first history doesn't know that stop, where it is there already, or where it
        would be remembered what was before the start.
        """
        known = (*self.names[history], place)
        longer = len(self.names[self.after[history, place]]) + 1
        if longer > len(known):
            return None
        name = known[-longer:]
        if name[0] == self.end or name[-1] in (0, self.end) or name in self.numbers:
            return None
        return name

    def add(self, names: Sequence[History]) -> list[int]:
        """Take in histories, each one stop longer than one that is there; the numbers of those."""
        import numpy as np

        parents = [self.numbers[name[1:]] for name in names]
        heads = [name[0] for name in names]
        held = self.holds[parents]
        holds = np.where(held, held, self.demands[heads])
        steps = pulses(holds, self.demands)
        steps[self.steps[parents] >= FAR] = FAR
        steps[np.arange(len(names)), heads] = FAR
        self.holds = np.concatenate([self.holds, holds])
        self.steps = np.concatenate([self.steps, steps])
        self.after = np.concatenate([self.after, self.after[parents]])
        self._name(names, parents)
        for name in names:
            self._lead_to(name)
        self._close_unreached()
        return parents

    def _name(self, names: Sequence[History], parents: Sequence[int]) -> None:
        for name, parent in zip(names, parents, strict=True):
            number = len(self.names)
            self.numbers[name] = number
            self._longer[parent].append(number)
            self._longer.append([])
            self.names.append(name)

    def _lead_to(self, name: History) -> None:
        """Let every history that knows all stops of a new one but the last lead to it."""
        number, place = self.numbers[name], name[-1]
        waiting = [self.numbers[name[:-1]]]
        while waiting:
            history = waiting.pop()
            if len(self.names[self.after[history, place]]) < len(name):
                self.after[history, place] = number
            waiting += self._longer[history]

    def _close_unreached(self) -> None:
        import numpy as np

        reached = np.bincount(self.after[self.steps < FAR], minlength=len(self.names))
        self.steps[reached == 0] = FAR


def histories_of(start: Positions, stops: Sequence[Positions], end: Positions) -> Histories:
    """All histories of two places between a start, some stops and the positions at the end.

    What isn't known at the start counts as open.
    """
    import numpy as np

    demands = wanted([start, *stops, end])
    count = len(demands)
    last = count - 1
    names: list[History] = [
        (before, here)
        for before in range(count)
        for here in range(count)
        if before != here and (here == 0) == (before == last)
    ]
    befores, heres = np.array(names).T
    holds = np.where(demands[heres], demands[heres], demands[befores])
    holds[heres == 0] = demands[0]
    steps = pulses(holds, demands)
    every = np.arange(len(names))
    steps[every, befores] = steps[every, heres] = FAR
    steps[:, 0] = FAR
    steps[heres == last] = FAR
    steps[(heres == last) & (befores != 0), 0] = 0
    steps[heres == 0, last] = FAR
    number = np.zeros((count, count), dtype=np.int32)
    number[befores, heres] = every
    return Histories(demands, names, holds, steps, number[heres])


def wanted(several: Sequence[Positions]) -> Demands:
    """A row for each of several positions: 1 thrown, -1 at rest, 0 not known."""
    import numpy as np

    mask = 0
    for positions in several:
        mask |= positions.known
    column = {index: number for number, index in enumerate(bits(mask))}
    rows = np.zeros((len(several), len(column)), dtype=np.int8)
    for row, positions in zip(rows, several, strict=True):
        for index in bits(positions.known):
            row[column[index]] = 1 if positions.thrown >> index & 1 else -1
    return rows


def pulses(holds: Demands, demands: Demands) -> NDArray[np.int16]:
    """For each row of the one and of the other on how many actuators they are opposed."""
    opposite = words(holds > 0, holds < 0)
    return common(opposite, words(demands < 0, demands > 0))


def words(rest: NDArray[np.bool_], thrown: NDArray[np.bool_]) -> Words:
    """The bits of each row, those at rest before those thrown, in words."""
    import numpy as np

    packed = np.packbits(np.concatenate([rest, thrown], axis=1), axis=1)
    padded = np.zeros((len(packed), -(-packed.shape[1] // 8) * 8), dtype=np.uint8)
    padded[:, : packed.shape[1]] = packed
    return padded.view(np.uint64)


def common(first: Words, second: Words) -> NDArray[np.int16]:
    """How many bits each row of the one has in common with each row of the other."""
    import numpy as np

    found = np.zeros((len(first), len(second)), dtype=np.int16)
    for a, b in zip(first.T, second.T, strict=True):
        found += np.bitwise_count(a[:, None] & b)
    return found
