"""The least cadence of a programme: a lower bound, and the ticks of a schedule that keeps it.

A shorter cadence is never easier. Cut the time of a schedule just before each change and put the
same time in at every cut: whatever is to keep apart is then as far apart or farther, and the only
rule that asks for nearness, a gate that must be back at rest before an item has fallen to it, binds
pulses of one tick whose item lies still before the next change. So what can be kept at a cadence
can be kept at every longer one, and the least cadence is one number, whatever is asked.

No cadence is shorter than the shortest period of any tick by itself. Where every tick leaves a
quiet machine within the longest of those, that is the answer. Else ticks are run one after the
other with what they leave behind, at a few cadences in between.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from seqc.machine.effort import Effort, Work
from seqc.machine.progress import counted
from seqc.schedule.actions import Actions
from seqc.schedule.builder import Builder
from seqc.schedule.effects import still_bounding
from seqc.schedule.pulses import Pulse
from seqc.schedule.search import PART
from seqc.schedule.tick import Setting, Tick, schedule_tick
from seqc.schedule.topology import Topology
from seqc.schedule.window import Window
from seqc.solver.load_time.load_timer import FOREVER
from seqc.solver.plan import FramePlan, ProgrammePlan

MOST_WINDOWS = 64
"""Where a programme has more different neighbours among its ticks, its bound isn't sharpened."""

MOST_MORE = 16
"""So many ticks of further rounds are run until what is left behind recurs."""


@dataclass(frozen=True, slots=True)
class Row:
    """Ticks in a row; number k makes `changes[k]` and loads `loads[k]`.

    After the last comes number `repeat_from`.

    `needed_us` is the least cadence that they keep: when the last of them is ready in time, and
    where they are scheduled by themselves, when each has left a quiet machine.
    """

    ticks: tuple[Tick, ...]
    changes: tuple[FramePlan, ...]
    loads: tuple[FramePlan | None, ...]
    repeat_from: int | None
    needed_us: int

    def stretched(self, cadence_us: int, to_us: int) -> Row:
        """The same at a longer cadence: time is put in before each change."""
        more_us = to_us - cadence_us
        last = len(self.ticks) - 1
        known: dict[tuple[int, int], Tick] = {}
        ticks = []
        for number, tick in enumerate(self.ticks):
            # After the last tick of a programme that ends there is no further change.
            cuts = last - number if self.repeat_from is None else FOREVER
            key = id(tick), min(cuts, 1 + tick.quiet_us // cadence_us)
            if key not in known:
                pulses = [
                    pulse.later(min(max(pulse.start_us // cadence_us, 0), cuts) * more_us)
                    for pulse in tick.pulses
                ]
                quiet = tick.quiet_us + min(tick.quiet_us // cadence_us, cuts) * more_us
                known[key] = replace(tick, pulses=tuple(pulses), quiet_us=quiet)
            ticks.append(known[key])
        return replace(self, ticks=tuple(ticks))


@dataclass(frozen=True, slots=True)
class Cadence:
    """The least cadence found, the least it could be, and the ticks that keep it.

    `quiet` are ticks each of which starts and ends with a quiet machine within `quiet.needed_us`.
    """

    period_us: int
    bound_us: int
    tight: Row
    quiet: Row

    def row_at(self, cadence_us: int) -> Row:
        """The ticks at a cadence that is kept."""
        if cadence_us >= self.quiet.needed_us:
            return self.quiet
        return self.tight.stretched(self.period_us, cadence_us)


class Round:
    """The ticks that a programme consists of, in their order; equal ticks are scheduled once.

    A repeating programme goes on with tick `repeat_from`. Where the change to its first frame isn't
    the same in later rounds, a tick more makes it, and the repetition starts with the second.
    """

    def __init__(self, topology: Topology, plan: ProgrammePlan, effort: Effort) -> None:
        self.topology = topology
        self.effort = effort
        self._work = Work(effort.cadence_nodes)
        self.repeat_from: int | None = None
        self.changes = plan.plans
        self.loads: tuple[FramePlan | None, ...] = (
            (*plan.plans[1:], plan.again) if plan.plans else ()
        )
        if plan.again is not None:
            self.repeat_from = 0
            if self._changing(plan.again) != self._changing(plan.plans[0]):
                self.repeat_from = 1
                self.changes = (*plan.plans, plan.again)
                self.loads = (*self.loads, self.loads[0])
        self._ticks: dict[Hashable, Tick] = {}
        numbers: dict[Hashable, int] = {}
        actions = Actions()
        keys = [
            (actions.of(change), actions.of(load) if load else None)
            for change, load in zip(self.changes, self.loads, strict=True)
        ]
        self._works = [numbers.setdefault(key, len(numbers)) for key in keys]

    @property
    def _nodes(self) -> int:
        """The first budget of one more schedule."""
        return max(0, min(self.effort.schedule_nodes, self._work.left // PART))

    def _changing(self, plan: FramePlan) -> object:
        """What a plan does in its change: all that is not done while the last frame is seen."""
        builder = Builder(self.topology)
        builder.change(plan)
        return list(builder.pulses.values())

    def least(self) -> Cadence:
        """The least cadence, within the effort."""
        quiet = self._quiet()
        bound = max((tick.bound_us for tick in quiet.ticks), default=0)
        period, tight = self._tightened(max(bound, 1), quiet)
        bound = self._sharper(bound, period)
        return Cadence(period, bound, tight, quiet)

    def _tightened(self, beat_us: int, quiet: Row) -> tuple[int, Row]:
        """A cadence shorter than that of quiet ticks, if the effort finds one, and its ticks."""
        for _ in range(self.effort.cadence_runs):
            if beat_us >= quiet.needed_us or self._work.over:
                break
            row = self.at(beat_us)
            if row.needed_us <= beat_us:
                return beat_us, row
            beat_us = row.needed_us
        return quiet.needed_us, quiet

    def _sharper(self, bound_us: int, period_us: int) -> int:
        """A better bound on the cadence, by each two ticks that follow each other together."""
        windows = self._windows()
        low, cadence = bound_us, period_us - 1
        for _ in range(self.effort.cadence_runs):
            if not low <= cadence or len(windows) > MOST_WINDOWS or self._work.over:
                break
            if any(window.excludes(cadence, self._nodes, self._work) for window in windows):
                low = cadence + 1
                cadence = (low + period_us) // 2
            else:
                period_us = cadence
                cadence = (low + period_us - 1) // 2
        return low

    def _windows(self) -> list[Window]:
        """Each two different ticks that follow each other."""
        last = len(self.changes) - 1
        follow = list(pairwise(range(len(self.changes))))
        follow += [] if self.repeat_from is None else [(last, self.repeat_from)]
        different = {(self._works[one], self._works[two]): (one, two) for one, two in follow}
        return [
            Window(self.topology, self.changes[one], load, self.loads[two])
            for one, two in different.values()
            if (load := self.loads[one]) is not None
        ]

    def _quiet(self) -> Row:
        """Every tick by itself, from a quiet machine.

        Only ticks that might make the period longer are searched for, those of the longest first.
        """
        first = {work: number for number, work in reversed(list(enumerate(self._works)))}
        found = {work: self._alone(number, FOREVER) for work, number in first.items()}
        bound = max((tick.bound_us for tick in found.values()), default=0)
        longest_first = sorted(found, key=lambda work: (-found[work].period_us, work))
        for work in counted("scheduling frames", longest_first):
            if found[work].period_us > bound:
                found[work] = self._alone(first[work], bound)
                bound = max(bound, found[work].bound_us)
        ticks = tuple(found[work] for work in self._works)
        needed = (
            tick.period_us if load is None else tick.ready_us
            for tick, load in zip(ticks, self.loads, strict=True)
        )
        needed_us = max(needed, default=0)
        return Row(ticks, self.changes, self.loads, self.repeat_from, needed_us)

    def _alone(self, number: int, enough_us: int) -> Tick:
        setting = Setting(
            self.topology,
            (),
            self.changes[number],
            self.loads[number],
            beat_us=FOREVER,
            enough_us=enough_us,
        )
        return schedule_tick(setting, self._nodes, self._work)

    def at(self, beat_us: int) -> Row:
        """The ticks at a cadence, each with what those before it leave behind."""
        numbers: list[int] = []
        ticks: list[Tick] = []
        entered: dict[Hashable, int] = {}
        past: tuple[Pulse, ...] = ()
        opener: int | None = None
        number = needed = 0
        while (state := (number, _key(past), opener)) not in entered:
            if len(ticks) == len(self.changes) + MOST_MORE:
                needed = FOREVER
                break
            entered[state] = len(ticks)
            tick = self._tick(number, past, opener, beat_us)
            ticks.append(tick)
            numbers.append(number)
            needed = max(needed, tick.period_us)
            if self.loads[number] is None:
                break
            past = self._left(past, tick, beat_us)
            opener = tick.opener if past else None
            number += 1
            if number == len(self.changes):
                number = self.repeat_from or 0
        again = None if self.repeat_from is None else entered.get(state, 0)
        changes = tuple(self.changes[n] for n in numbers)
        return Row(tuple(ticks), changes, tuple(self.loads[n] for n in numbers), again, needed)

    def _left(self, past: Sequence[Pulse], tick: Tick, beat_us: int) -> tuple[Pulse, ...]:
        """What still bounds the next tick."""
        next_us = max(beat_us, tick.period_us)
        if not past and tick.quiet_us <= next_us:
            return ()
        return still_bounding(self.topology, (*past, *tick.pulses), next_us)

    def _tick(self, number: int, past: tuple[Pulse, ...], opener: int | None, beat_us: int) -> Tick:
        key = self._works[number], _key(past), opener, beat_us
        if key not in self._ticks:
            change, load = self.changes[number], self.loads[number]
            setting = Setting(self.topology, past, change, load, opener, beat_us, beat_us)
            self._ticks[key] = schedule_tick(setting, self._nodes, self._work)
        return self._ticks[key]


def _key(past: Sequence[Pulse]) -> Hashable:
    return tuple((p.actuator.index, p.position, p.start_us) for p in past)


def end_us(ticks: Sequence[Tick], beat_us: int) -> int:
    """When everything of a row that ends is seen and quiet, counted from the last change."""
    last = len(ticks) - 1
    ends = (tick.quiet_us - (last - number) * beat_us for number, tick in enumerate(ticks))
    return max([ticks[-1].seen_us, *ends])
