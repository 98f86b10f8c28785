"""How many pulses a line or a round of loads takes at least, each actuator counted by itself.

A load that must find an actuator in both positions changes it; between loads that want it in one
position each it changes where these differ. That is one count. The other adds the changes between
loads to what each load takes inside at least, where no load between could have made them before.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from seqc.solver.joint.cost_bound import CostBound
from seqc.solver.positions import Positions, bits


def forced_pulses(loads: Sequence[CostBound], start: Positions | None) -> int:
    """The least pulses, gates included, of loads from a start, or of a round without one."""
    gates = sum(load.gate_pulses for load in loads)
    inside = sum(load.inside for load in loads)
    actuators = 0
    for load in loads:
        actuators |= load.certain[0] | load.certain[1]
    changes = sum(_changes(loads, start, index) for index in bits(actuators))
    between = sum(_between(loads, start, index) for index in bits(actuators))
    return gates + max(changes, inside + between)


def _changes(loads: Sequence[CostBound], start: Positions | None, index: int) -> int:
    """The fewest changes of one actuator, from where it stands or round again."""
    if start is not None and start.known >> index & 1:
        return _walked(loads, index, bool(start.thrown >> index & 1))[0]
    walks = [(*_walked(loads, index, at), at) for at in (False, True)]
    if start is None:
        return min(changes + (end != at) for changes, end, at in walks)
    return min(changes for changes, _, _ in walks)


def _walked(loads: Sequence[CostBound], index: int, thrown: bool) -> tuple[int, bool]:
    """The changes of an actuator that moves only where it must, and where it then stands."""
    changes = 0
    for load in loads:
        rests, throws = (bool(mask >> index & 1) for mask in load.certain)
        if (rests and throws) or (throws if not thrown else rests):
            changes += 1
            thrown = not thrown
    return changes, thrown


def _between(loads: Sequence[CostBound], start: Positions | None, index: int) -> int:
    """How often an actuator changes between one load and the next that may speak of it."""
    said: list[bool | None] = []
    if start is not None and start.known >> index & 1:
        said.append(bool(start.thrown >> index & 1))
    for load in loads:
        if load.pure.known >> index & 1:
            said.append(bool(load.pure.thrown >> index & 1))
        elif load.actuators >> index & 1:
            said.append(None)
    if start is None:
        said = [*said[-1:], *said]
    pairs = itertools.pairwise(said)
    return sum(None not in pair and pair[0] != pair[1] for pair in pairs)
