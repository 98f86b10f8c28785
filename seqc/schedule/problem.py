"""The scheduling core's view: tasks, least times between their starts, and what they share.

A task is a pulse, or an event that takes no time and no current. An arc says that one task starts
no sooner than `lag_us` after the start of another (`lag_us` may be negative). Tasks on one supply
draw no more than its capacity together, and tasks on one channel keep the distance that the channel
demands. Tasks are numbered so that arcs lead from lower to higher numbers.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

NONE = -1


@dataclass(frozen=True, slots=True)
class Task:
    """A pulse or an event.

    `supply` and `channel` are numbers, or NONE. `mode` is the state in which the channel must be,
    and `clear_us` how long after its end the task still keeps the channel from changing its mode.
    Only tasks of one `batch` may coincide.
    """

    name: str
    length_us: int = 0
    supply: int = NONE
    demand_ua: int = 0
    channel: int = NONE
    mode: int = 0
    clear_us: int = 0
    batch: int = 0


@dataclass(frozen=True, slots=True)
class Arc:
    """Task `after` starts no sooner than `lag_us` after the start of `before`, and why."""

    before: int
    after: int
    lag_us: int
    cause: str


@dataclass(frozen=True, slots=True)
class Channel:
    """What tasks of one drive share.

    Tasks keep `same_us` from the end of one to the start of the next; where it is None, those of
    one mode may overlap. With `together`, two of one mode, length and batch may also coincide. To
    turn to a mode takes `turn_us[mode]` more after every task of the other mode is cleared.
    """

    name: str
    same_us: int | None
    turn_us: tuple[int, int] = (0, 0)
    together: bool = False

    def timed(self, lasting: Callable[[int], int]) -> Channel:
        """The same with its distances as they are in a table."""
        same_us = None if self.same_us is None else lasting(self.same_us)
        first, second = map(lasting, self.turn_us)
        return Channel(self.name, same_us, (first, second), self.together)


@dataclass(frozen=True)
class Problem:
    """Tasks, arcs, capacities by supply, channels, and the tasks whose start is given.

    `known_heads` are the heads of the first tasks, as far as they were found before; they hold for
    these given starts alone.
    """

    tasks: Sequence[Task]
    arcs: Sequence[Arc]
    capacities_ua: Sequence[int]
    channels: Sequence[Channel] = ()
    fixed: Mapping[int, int] = field(default_factory=dict)
    supplies: Sequence[str] = ()
    known_heads: Sequence[int] = ()

    @cached_property
    def before(self) -> list[list[tuple[int, int]]]:
        """For each task, the earlier tasks that bound it and the lags."""
        found: list[list[tuple[int, int]]] = [[] for _ in self.tasks]
        for arc in self.arcs:
            found[arc.after].append((arc.before, arc.lag_us))
        return found

    @cached_property
    def after(self) -> list[list[tuple[int, int]]]:
        """For each task, the later tasks that it bounds and the lags."""
        found: list[list[tuple[int, int]]] = [[] for _ in self.tasks]
        for arc in self.arcs:
            found[arc.before].append((arc.after, arc.lag_us))
        return found

    def apart_us(self, first: int, second: int) -> int | None:
        """The least time between the starts of two tasks of one channel, None: they may overlap."""
        one, two = self.tasks[first], self.tasks[second]
        channel = self.channels[one.channel]
        if one.mode != two.mode:
            turned = one.clear_us + channel.turn_us[two.mode]
            return one.length_us + max(turned, channel.same_us or 0)
        return None if channel.same_us is None else one.length_us + channel.same_us

    def may_coincide(self, first: int, second: int) -> bool:
        """Whether two tasks of one channel that can't overlap may start and end together."""
        one, two = self.tasks[first], self.tasks[second]
        alike = one.mode == two.mode and one.length_us == two.length_us and one.batch == two.batch
        return alike and self.channels[one.channel].together

    def leading_to(self, goal: int) -> list[int]:
        """The goal and every task that bounds it, directly or not, in order."""
        wanted = {goal}
        for task in range(goal, -1, -1):
            if task in wanted:
                wanted.update(before for before, _ in self.before[task])
        return sorted(wanted)

    def part(self, keep: Sequence[int]) -> Problem:
        """The problem of some tasks alone, renumbered in their order, with all that bound them."""
        number = {task: rank for rank, task in enumerate(keep)}
        arcs = [
            Arc(number[arc.before], number[arc.after], arc.lag_us, arc.cause)
            for arc in self.arcs
            if arc.before in number and arc.after in number
        ]
        fixed = {number[task]: start for task, start in self.fixed.items() if task in number}
        tasks = [self.tasks[task] for task in keep]
        known = [self.known_heads[task] for task in keep if task < len(self.known_heads)]
        return Problem(tasks, arcs, self.capacities_ua, self.channels, fixed, self.supplies, known)

    def reversed(self) -> Problem:
        """The same problem with time running backwards; task i becomes the i-th from the end.

        With s' = -(s + length), s2 >= s1 + lag turns into s1' >= s2' + lag + length2 - length1.
        """
        last = len(self.tasks) - 1
        arcs = [
            Arc(last - arc.after, last - arc.before, self._reversed_lag(arc), arc.cause)
            for arc in self.arcs
        ]
        return Problem(self.tasks[::-1], arcs, self.capacities_ua, self.channels)

    def _reversed_lag(self, arc: Arc) -> int:
        return arc.lag_us + self.tasks[arc.after].length_us - self.tasks[arc.before].length_us
