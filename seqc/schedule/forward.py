"""The shortest schedule by going forward in time, from what has started to what starts next.

A state is what has started so far, in order of time. The state of the least bound is developed
first, and one that isn't better in anything than another with the same tasks started is dropped
(dominance). Only tasks that could start before any other could be over are candidates, as in the
active schedules of Giffler and Thompson (1960). Tasks of a channel in which pulses may coincide
are started in sets.

A task may have to wait for another that starts later (a negative lag). If that one turns out later
than hoped, the task was started too soon: the state is then loose, which still bounds all schedules
that it stands for but is none itself. A loose end is mended by placing its tasks anew in their
order.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from operator import le

from seqc.schedule.bounds import NEVER
from seqc.schedule.placement import place_all
from seqc.schedule.problem import NONE, Problem
from seqc.solver.load_time.load_timer import FOREVER

SETS = 256
"""How many sets of pulses that start together are tried at most from one state."""


@dataclass(slots=True)
class State:
    """What has started: `starts` of those, and for all others the earliest start so far known.

    `free` has for each channel and mode the earliest start of its next task. `open` are the tasks
    that may start next with the soonest starts. Of a loose state `floor_us` is a bound by itself.
    """

    started: int
    front_us: int
    starts: list[int]
    free: list[tuple[int, int]]
    loose: bool = False
    floor_us: int = NEVER
    open: list[tuple[int, int]] = field(default_factory=list)

    def copy(self) -> State:
        """A state to be developed further."""
        starts, free = list(self.starts), list(self.free)
        return State(self.started, self.front_us, starts, free, self.loose, self.floor_us)


@dataclass(slots=True)
class Outlook:
    """The best schedule known, when it reaches the goal, and a bound on all others.

    So many nodes were looked at for it.
    """

    starts: list[int]
    value_us: int
    bound_us: int
    nodes: int = 0


class Forward:
    """One search; `tail` are least times from each task to the goal, the last task.

    `kinds` are equal for tasks that nothing tells apart.
    """

    def __init__(self, problem: Problem, tail: Sequence[int], kinds: Sequence[int]) -> None:
        self.problem = problem
        self.tail = tail
        self.tasks = problem.tasks
        self.count = len(problem.tasks)
        self.exact = True
        self.complete = (1 << self.count) - 1
        self.needs = [0] * self.count
        self.apart = [0] * self.count
        self.early: list[list[tuple[int, int]]] = [[] for _ in self.tasks]
        for task, before in enumerate(problem.before):
            for other, lag in before:
                if lag < 0:
                    self.early[task].append((other, lag))
                else:
                    self.needs[task] |= 1 << other
                    self.apart[task] |= (lag > 0) << other
        self.twin = _previous_of_kind(kinds)
        self.events = [
            task
            for task, facts in enumerate(self.tasks)
            if facts.supply == NONE and facts.channel == NONE and task not in problem.fixed
        ]
        self.alone = [self._is_alone(channel) for channel in range(len(problem.channels))]
        self.known: dict[int, list[list[int]]] = {}

    def _is_alone(self, channel: int) -> bool:
        """Whether a channel has the supplies of its tasks for itself."""
        supplies = {facts.supply for facts in self.tasks if facts.channel == channel}
        return all(f.channel == channel for f in self.tasks if f.supply in supplies)

    def run(self, best: list[int], bound_us: int, effort: int) -> Outlook:
        """Look for a schedule better than the best known, in so many states or a few more."""
        outlook = Outlook(best, best[-1], bound_us)
        ranks = itertools.count()
        heap = [
            (max(bound_us, self._bound(state)), 0, next(ranks), state) for state in self._roots()
        ]
        heapq.heapify(heap)
        ended = False
        while heap and effort > 0 and outlook.bound_us < outlook.value_us:
            bound, _, _, state = heapq.heappop(heap)
            if not ended:
                outlook.bound_us = min(bound, outlook.value_us)
            if state.started == self.complete:
                ended = True
                self._end(state, outlook)
                continue
            for child in self._children(state):
                effort -= 1
                outlook.nodes += 1
                worth = max(bound, self._bound(child))
                if worth < outlook.value_us and self._is_new(child):
                    entry = (worth, -child.started.bit_count(), next(ranks), child)
                    heapq.heappush(heap, entry)
        if not heap and effort > 0 and not ended and self.exact:
            outlook.bound_us = outlook.value_us
        return outlook

    def _end(self, state: State, outlook: Outlook) -> None:
        """Keep a complete schedule if it is the best; a loose one is mended first."""
        starts = state.starts
        if state.loose:
            starts = place_all(self.problem, lambda task, _: (state.starts[task],))
        if starts[-1] < outlook.value_us:
            outlook.starts, outlook.value_us = starts, starts[-1]

    def _roots(self) -> list[State]:
        """Where to begin: after what is given before 0, and with what must start at 0."""
        state = State(0, 0, [0] * self.count, [(NEVER, NEVER) for _ in self.problem.channels])
        now = {task for task, start in self.problem.fixed.items() if start == 0}
        for task, start in self.problem.fixed.items():
            if task not in now:
                self._start(state, task, start)
        state.front_us = 0
        self._look_around(state)
        if not now:
            return [state]
        units = [unit for unit, start in self._units(state) if start == 0]
        return [self._after(state, unit, 0) for unit in units if now <= set(unit)]

    def _start(self, state: State, task: int, start: int) -> None:
        state.started |= 1 << task
        state.starts[task] = start
        state.front_us = max(state.front_us, start)
        for after, lag in self.problem.after[task]:
            if not state.started >> after & 1:
                state.starts[after] = max(state.starts[after], start + lag)
            elif lag < 0 and start + lag > state.starts[after]:
                self._loosen(state, after, start + lag)
        if self.tasks[task].channel != NONE:
            self._occupy(state, task, start)

    def _loosen(self, state: State, task: int, least_us: int) -> None:
        """A task that has started should have waited; what comes after it still can."""
        state.loose = True
        state.floor_us = max(state.floor_us, least_us + self.tail[task])
        for after, lag in self.problem.after[task]:
            if not state.started >> after & 1:
                state.starts[after] = max(state.starts[after], least_us + lag)

    def _occupy(self, state: State, task: int, start: int) -> None:
        facts = self.tasks[task]
        channel = self.problem.channels[facts.channel]
        end = start + facts.length_us
        same = NEVER if channel.same_us is None else end + channel.same_us
        other = end + max(facts.clear_us + channel.turn_us[1 - facts.mode], channel.same_us or 0)
        bounds = (same, other) if facts.mode == 0 else (other, same)
        free = state.free[facts.channel]
        state.free[facts.channel] = (max(free[0], bounds[0]), max(free[1], bounds[1]))

    def _look_around(self, state: State) -> None:
        """Let events happen, then find what may start next; of twins only the first."""
        for task in self.events:
            if not state.started >> task & 1 and not self.needs[task] & ~state.started:
                front = state.front_us
                self._start(state, task, state.starts[task])
                state.front_us = front
        running = self._running(state)
        for task in range(self.count):
            twin = self.twin[task]
            if state.started >> task & 1 or self.needs[task] & ~state.started:
                continue
            if twin == NONE or state.started >> twin & 1:
                state.open.append((task, self._soonest(state, running, task)))

    def _running(self, state: State) -> list[list[tuple[int, int]]]:
        """For each supply the ends of the pulses that still run, and what they draw."""
        found: list[list[tuple[int, int]]] = [[] for _ in self.problem.capacities_ua]
        for task, facts in enumerate(self.tasks):
            if facts.supply != NONE and state.started >> task & 1:
                end = state.starts[task] + facts.length_us
                if end > state.front_us:
                    found[facts.supply].append((end, facts.demand_ua))
        for ends in found:
            ends.sort()
        return found

    def _soonest(
        self, state: State, running: Sequence[Sequence[tuple[int, int]]], task: int
    ) -> int:
        front = state.front_us
        start = max(state.starts[task], front)
        for before, lag in self.early[task]:
            if not state.started >> before & 1:
                start = max(start, max(state.starts[before], front) + lag)
        facts = self.tasks[task]
        if facts.channel != NONE:
            start = max(start, state.free[facts.channel][facts.mode])
        if facts.supply == NONE:
            return start
        return self._with_room(running[facts.supply], start, facts.supply, facts.demand_ua)

    def _with_room(
        self, running: Sequence[tuple[int, int]], start: int, supply: int, demand: int
    ) -> int:
        drawn = demand + sum(draw for end, draw in running if end > start)
        for end, draw in running:
            if end > start:
                if drawn <= self.problem.capacities_ua[supply]:
                    break
                start, drawn = end, drawn - draw
        return start

    def _bound(self, state: State) -> int:
        """No schedule from here reaches the goal sooner."""
        if state.started == self.complete:
            return max(state.starts[-1], state.floor_us)
        return max(state.floor_us, *(start + self.tail[task] for task, start in state.open))

    def _children(self, state: State) -> Iterator[State]:
        over = min(
            (self._over(task, at) for task, at in state.open if not self.early[task]),
            default=FOREVER,
        )
        for chosen, start in self._units(state):
            if start < over:
                yield self._after(state, chosen, start)

    def _after(self, state: State, chosen: tuple[int, ...], start: int) -> State:
        """The state in which some more tasks have started."""
        child = state.copy()
        for task in chosen:
            self._start(child, task, start)
        self._look_around(child)
        return child

    def _over(self, task: int, start: int) -> int:
        """When a task that starts then no longer keeps any other from starting."""
        facts = self.tasks[task]
        end = start + facts.length_us
        if facts.channel == NONE:
            return end
        channel = self.problem.channels[facts.channel]
        return end + max(facts.clear_us + max(channel.turn_us), channel.same_us or 0)

    def _units(self, state: State) -> Iterator[tuple[tuple[int, ...], int]]:
        """What may start next: single tasks, and sets of those that may coincide."""
        together: dict[tuple[int, int, int], list[int]] = {}
        for task, soonest in state.open:
            facts = self.tasks[task]
            if facts.channel != NONE and self.problem.channels[facts.channel].together:
                together.setdefault(self._key(task), []).append(task)
            else:
                yield (task,), soonest
        for members in together.values():
            yield from self._sets(state, self._with_followers(state, members))

    def _with_followers(self, state: State, members: Sequence[int]) -> list[int]:
        """The members, and what may start together with them though not before them."""
        alike = self._key(members[0])
        found = list(members)
        for task in range(self.count):
            fresh = not state.started >> task & 1 and task not in found
            mask = state.started | sum(1 << member for member in (*found, task))
            if fresh and self._key(task) == alike and self._in_turn(state.started, mask, task):
                found.append(task)
        return found

    def _key(self, task: int) -> tuple[int, int, int]:
        """Equal for tasks that may coincide."""
        facts = self.tasks[task]
        return facts.channel, facts.mode, facts.length_us

    def _sets(self, state: State, members: Sequence[int]) -> Iterator[tuple[tuple[int, ...], int]]:
        """The sets of members that the supply can bear, and their starts."""
        running = self._running(state)
        soonest = {task: self._soonest(state, running, task) for task in members}
        supply = self.tasks[members[0]].supply
        room = self.problem.capacities_ua[supply] if supply != NONE else FOREVER
        tried = 0
        for size in range(len(members), 0, -1):
            for chosen in itertools.combinations(members, size):
                if tried == SETS:
                    self.exact = False
                    return
                tried += 1
                demand = sum(self.tasks[task].demand_ua for task in chosen)
                mask = state.started | sum(1 << task for task in chosen)
                if demand > room or not self._all_in_turn(state, mask, chosen):
                    continue
                start = max(soonest[task] for task in chosen)
                if supply != NONE:
                    start = self._with_room(running[supply], start, supply, demand)
                joining = [t for t in members if soonest[t] <= start and not mask >> t & 1]
                if not self._is_wasteful(state, mask, joining, room - demand):
                    yield chosen, start

    def _all_in_turn(self, state: State, mask: int, chosen: Iterable[int]) -> bool:
        return all(self._in_turn(state.started, mask, task) for task in chosen)

    def _in_turn(self, started: int, mask: int, task: int) -> bool:
        """Whether a task may start with those of a mask, before neither its twin nor what it needs.

        What must have started some time before it must be among those that have `started`.
        """
        twin = self.twin[task]
        if twin != NONE and not mask >> twin & 1:
            return False
        return not self.needs[task] & ~started & (self.apart[task] | ~mask)

    def _is_wasteful(self, state: State, mask: int, joining: Iterable[int], room: int) -> bool:
        """Whether one more task could start with a set and be in nothing's way.

        So it is where no other channel draws from the supply; but a task that others wait for may
        be better off later.
        """
        return any(
            self.alone[self.tasks[task].channel]
            and not self.early[task]
            and self.tasks[task].demand_ua <= room
            and self._in_turn(state.started, mask | 1 << task, task)
            for task in joining
        )

    def _is_new(self, state: State) -> bool:
        """Whether no known state with the same tasks started is as good in everything."""
        measures = self._measures(state)
        rivals = self.known.setdefault(state.started, [])
        if any(all(map(le, rival, measures)) for rival in rivals):
            return False
        rivals[:] = [rival for rival in rivals if not all(map(le, measures, rival))]
        rivals.append(measures)
        return True

    def _measures(self, state: State) -> list[int]:
        front = state.front_us
        found = [front]
        for task, start in enumerate(state.starts):
            begun = state.started >> task & 1
            found.append(max(start + self.tasks[task].length_us if begun else start, front))
        found += [max(bound, front) for pair in state.free for bound in pair]
        found += [int(state.loose), state.floor_us]
        for task, early in enumerate(self.early):
            if early and state.started >> task & 1:
                found.append(-state.starts[task])
        return found


def _previous_of_kind(kinds: Sequence[int]) -> list[int]:
    last: dict[int, int] = {}
    found = []
    for task, kind in enumerate(kinds):
        found.append(last.get(kind, NONE))
        last[kind] = task
    return found
