"""Brute force: every position of every selector, toggled one at a time.

Positions are a tuple of False (rest), True (thrown) and None (not known), one for each selector
actuator. Which kind a cell gets is found by walking down its feed.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from feeds import declared, inputs

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Branch, Cell, Feed
from seqc.machine.wiring import Actuator

Setting = tuple[bool | None, ...]


def selectors_of(machine: Machine) -> list[Actuator]:
    """Every actuator that moves a selector."""
    return [actuator for actuator in machine.actuators if not actuator.is_gate]


@dataclass(frozen=True, eq=False)
class Load:
    """The loading of some metering groups of the machine's first grid with a glyph."""

    machine: Machine
    glyph: Glyph
    groups: tuple[Actuator, ...]

    @cached_property
    def selectors(self) -> list[Actuator]:
        return selectors_of(self.machine)

    @cached_property
    def number_of(self) -> dict[int, int]:
        return {actuator.index: n for n, actuator in enumerate(self.selectors)}

    def offered(self, cell: Cell, setting: Setting) -> set[str]:
        """The kinds that a cell may get."""
        lane = self.machine.lanes[0]
        kinds = set()
        waiting: list[Feed] = [declared(lane, cell)]
        while waiting:
            feed = waiting.pop()
            if not isinstance(feed, Branch):
                kinds.add(feed.name)
                continue
            actuator = self.machine.actuator_of(feed.selector, lane.grid, cell)
            at = setting[self.number_of[actuator.index]]
            rest, thrown = inputs(feed, cell)
            if at is not True:
                waiting.append(rest)
            if at is not False:
                waiting.append(thrown)
        return kinds

    def loads(self, group: Actuator, setting: Setting) -> bool:
        """Whether each cell of the group is sure to get its kind."""
        index_of = self.machine.lanes[0].grid.index_of
        return all(
            self.offered(cell, setting) == {self.glyph.kinds[index_of[cell]]}
            for cell in group.cells
        )

    @cached_property
    def _loaded_by(self) -> dict[Setting, int]:
        return {}

    def loaded_by(self, setting: Setting) -> int:
        """The bit set of groups that the setting can load."""
        if setting not in self._loaded_by:
            self._loaded_by[setting] = sum(
                1 << n for n, group in enumerate(self.groups) if self.loads(group, setting)
            )
        return self._loaded_by[setting]


def every_setting(count: int) -> Iterator[Setting]:
    for number in range(1 << count):
        yield tuple(bool(number >> n & 1) for n in range(count))


def fewest_passes(load: Load) -> int | None:
    """How many passes are needed, None if no number is enough."""
    offers = {load.loaded_by(setting) for setting in every_setting(len(load.selectors))}
    everything = (1 << len(load.groups)) - 1
    reached, passes = {0}, 0
    while everything not in reached:
        grown = {done | offer for done in reached for offer in offers}
        if grown == reached:
            return None
        reached, passes = grown, passes + 1
    return passes


def contradicting(load: Load, cells: Sequence[Cell]) -> bool:
    """Whether no setting gives all of these cells their kinds."""
    index_of = load.machine.lanes[0].grid.index_of
    return not any(
        all(load.offered(cell, s) == {load.glyph.kinds[index_of[cell]]} for cell in cells)
        for s in every_setting(len(load.selectors))
    )


def fewest_pulses(
    load: Load, start: Setting, passes: int, end: Setting | None = None
) -> int | None:
    """The fewest selector pulses with which so many passes load every group.

    The last pass must be at the end, where one is given. One pulse moves one selector, a pass moves
    none: the shortest way with steps of 1 and 0, by a queue with two ends.
    """
    everything = (1 << len(load.groups)) - 1
    waiting = deque([(0, 0, 0, start)])
    seen = set()
    while waiting:
        state = waiting.popleft()
        pulses, used, done, setting = state
        if done == everything and (end is None or setting == end):
            return pulses
        if state[1:] in seen:
            continue
        seen.add(state[1:])
        if used < passes:
            for after in _after_pass(done, load.loaded_by(setting), end is not None):
                waiting.appendleft((pulses, used + 1, after, setting))
        if done != everything:
            waiting += [(pulses + 1, used, done, moved) for moved in _moved(setting)]
    return None


def _after_pass(done: int, loaded: int, choose: bool) -> Iterator[int]:
    """The groups done after a pass that loads all it can, or any of them.

    An end may ask for a group to be left for the last pass.
    """
    more = done | loaded
    for after in range(done + 1, more + 1) if choose else (more,):
        if after & ~more == 0 and after & done == done and after != done:
            yield after


def _moved(setting: Setting) -> Iterator[Setting]:
    """Every setting that one pulse leads to."""
    for n, at in enumerate(setting):
        for to in (False, True):
            if at is not to:
                yield (*setting[:n], to, *setting[n + 1 :])
