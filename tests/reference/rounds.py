"""Brute force over programmes: every setting between any two frames, every round."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from functools import cached_property

from reference.brute import Load, Setting, fewest_passes
from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Lane

FAR = 1_000


class Reference:
    """Loads of changed columns, whose metering and transfer gates are linked per column.

    Where transfer gates are linked otherwise, `whole` says that every change loads the whole grid.
    """

    def __init__(self, machine: Machine, whole: bool) -> None:
        self.machine = machine
        self.whole = whole
        self._known: dict[tuple[int, int, Setting], dict[Setting, int]] = {}
        self._passes: dict[tuple[int, int], int] = {}

    @cached_property
    def lane(self) -> Lane:
        return self.machine.lanes[0]

    def load(self, glyph: Glyph, shown: Glyph | None) -> Load:
        groups = self.machine.actuators_of(self.lane.metering, self.lane.grid)
        if shown is None or (self.whole and shown.kinds != glyph.kinds):
            return Load(self.machine, glyph, groups)
        index_of = self.lane.grid.index_of
        changed = [
            any(glyph.kinds[index_of[cell]] != shown.kinds[index_of[cell]] for cell in group.cells)
            for group in groups
        ]
        pairs = zip(groups, changed, strict=True)
        return Load(self.machine, glyph, tuple(group for group, moves in pairs if moves))

    def steps(self, glyph: Glyph, shown: Glyph | None, start: Setting) -> dict[Setting, int]:
        """The fewest selector pulses to each setting after the last of the fewest passes."""
        key = (id(glyph), id(shown), start)
        if key not in self._known:
            load = self.load(glyph, shown)
            if key[:2] not in self._passes:
                passes = fewest_passes(load)
                assert passes is not None
                self._passes[key[:2]] = passes
            self._known[key] = ends_of(load, start, self._passes[key[:2]])
        return self._known[key]

    def line(
        self, glyphs: Sequence[Glyph], start: Setting, shown: Glyph | None
    ) -> dict[Setting, int]:
        """The fewest selector pulses to each setting after all frames in order."""
        ways = {start: 0}
        for glyph in glyphs:
            grown: dict[Setting, int] = {}
            for before, pulses in ways.items():
                for after, more in self.steps(glyph, shown, before).items():
                    grown[after] = min(grown.get(after, FAR), pulses + more)
            ways, shown = grown, glyph
        return ways

    def round(self, glyphs: Sequence[Glyph], start: Setting) -> int:
        """The fewest selector pulses of a round, from any end of the first load and back to it."""
        return min(self._closed(glyphs, cut) for cut in self.steps(glyphs[0], None, start))

    def _closed(self, glyphs: Sequence[Glyph], cut: Setting) -> int:
        first, last = glyphs[0], glyphs[-1]
        best = FAR
        for before, pulses in self.line(glyphs[1:], cut, first).items():
            changed = self.steps(first, last, before)
            closing = changed if cut in changed else self.steps(first, None, before)
            best = min(best, pulses + closing.get(cut, FAR))
        return best


def ends_of(load: Load, start: Setting, passes: int) -> dict[Setting, int]:
    """The fewest pulses to each setting that so many passes can end in.

    One pulse moves one selector, a pass moves none: a queue with two ends. A pass may load any of
    the groups that its setting serves.
    """
    everything = (1 << len(load.groups)) - 1
    waiting = deque([(0, 0, 0, start, False)])
    seen = set()
    found: dict[Setting, int] = {}
    while waiting:
        state = waiting.popleft()
        pulses, used, done, setting, operated = state
        if state[1:] in seen:
            continue
        seen.add(state[1:])
        if done == everything and operated:
            found.setdefault(setting, pulses)
            continue
        if used < passes:
            served = load.loaded_by(setting) & ~done
            more = served
            while more:
                waiting.appendleft((pulses, used + 1, done | more, setting, True))
                more = (more - 1) & served
        for n, at in enumerate(setting):
            for to in (False, True):
                if at is not to:
                    moved = (*setting[:n], to, *setting[n + 1 :])
                    waiting.append((pulses + 1, used, done, moved, False))
    return found
