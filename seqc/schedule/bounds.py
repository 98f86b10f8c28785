"""Lower bounds on starts, from arcs and from what pulses on one supply must wait for each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from seqc.machine.electrics import ceil_div
from seqc.schedule.problem import NONE, Channel, Problem, Task
from seqc.solver.load_time.load_timer import FOREVER

NEVER = -FOREVER
"""Less than any start."""

REACH = 64
"""How many of the tasks nearest before another are looked at together."""


_Rival = tuple[int, int, int, int, Task]
"""A pulse before another: its earliest start, the least distance to the other, its length, its
demand, and the task. These are looked at so often that a class of their own would be felt."""


def heads(problem: Problem) -> list[int]:
    """A lower bound on the start of every task; none starts before 0 but where it is given.

    Of the pulses before a task take those that start no sooner than some instant. With at most k of
    n pulses at one time, each at least p long, the last of them starts (ceil(n / k) - 1) p later;
    and their charge divided by the capacity is the least time until the last of them ends. Pulses
    of one channel that can't overlap take their rounds one kind after the other.
    """
    return _bounds(problem, 0)


def arc_heads(problem: Problem) -> list[int]:
    """The heads by arcs and given starts alone: weaker, and quicker to find."""
    found: list[int] = []
    for task in range(len(problem.tasks)):
        bounds = [found[before] + lag for before, lag in problem.before[task]]
        found.append(problem.fixed.get(task, max([0, *bounds])))
    return found


def arc_tails(problem: Problem) -> list[int]:
    """The tails by arcs alone: weaker, and quicker to find; NEVER where the goal isn't bounded."""
    found = [NEVER] * (len(problem.tasks) - 1) + [0]
    for task in range(len(problem.tasks) - 2, -1, -1):
        ways = (found[after] + lag for after, lag in problem.after[task] if found[after] > NEVER)
        found[task] = max(ways, default=NEVER)
    return found


def tails(problem: Problem) -> list[int]:
    """A lower bound on the time from the start of every task to the start of the last, the goal.

    It is the heads of the problem with time reversed, in which the goal comes first and other tasks
    may reach beyond it; every task must bound the goal.
    """
    goal_us = problem.tasks[-1].length_us
    backwards = _bounds(problem.reversed(), None)
    return [
        head + task.length_us - goal_us
        for head, task in zip(backwards[::-1], problem.tasks, strict=True)
    ]


def _bounds(problem: Problem, floor: int | None) -> list[int]:
    found = list(problem.known_heads)
    for task in range(len(found), len(problem.tasks)):
        if task in problem.fixed:
            found.append(problem.fixed[task])
            continue
        bounds = [found[before] + lag for before, lag in problem.before[task]]
        bounds += [] if floor is None and bounds else [floor or 0]
        found.append(_queue_bound(problem, found, task, max(bounds)))
    return found


def _queue_bound(problem: Problem, found: Sequence[int], task: int, bound: int) -> int:
    distances = _distances_before(problem, task)
    rivals: dict[int, list[_Rival]] = {}
    for other, distance in distances.items():
        facts = problem.tasks[other]
        if facts.supply != NONE:
            rival = found[other], distance, facts.length_us, facts.demand_ua, facts
            rivals.setdefault(facts.supply, []).append(rival)
    best = max([bound, *(_waits(problem, supply, group) for supply, group in rivals.items())])
    own = problem.tasks[task]
    if own.supply in rivals and min(distances.values()) >= 0:
        last = bound, 0, own.length_us, own.demand_ua, own
        best = max(best, _waits(problem, own.supply, [*rivals[own.supply], last]))
    return best


def _distances_before(problem: Problem, task: int) -> dict[int, int]:
    """The longest ways to a task from the tasks nearest before it."""
    distances = {task: 0}
    near: dict[int, int] = {}
    for current in range(task, -1, -1):
        if current not in distances or current in problem.fixed:
            continue
        near[current] = distance = distances[current]
        if len(near) > REACH:
            break
        for before, lag in problem.before[current]:
            if distance + lag > distances.get(before, NEVER):
                distances[before] = distance + lag
    del near[task]
    return near


def _waits(problem: Problem, supply: int, rivals: list[_Rival]) -> int:
    capacity = problem.capacities_ua[supply]
    crowded = sum(demand for _, _, _, demand, _ in rivals) > capacity
    if len(rivals) < 2 or not (crowded or problem.channels):
        return NEVER
    latest_first = sorted(rivals, key=_head_us, reverse=True)
    large = [rival for rival in latest_first if 2 * rival[3] > capacity]
    best = _rounds(latest_first, capacity)
    if 1 < len(large) < len(rivals):
        best = max(best, _rounds(large, capacity))
    for number, channel in enumerate(problem.channels):
        sharing = [rival for rival in latest_first if rival[4].channel == number]
        if len(sharing) > 1:
            best = max(best, _rounds_by_kind(sharing, capacity, channel))
    return best


def _head_us(rival: _Rival) -> int:
    return rival[0]


def _rounds(rivals: Sequence[_Rival], capacity: int) -> int:
    """The bound of the module over the pulses of each latest head; the latest come first."""
    best = NEVER
    charge = 0
    shortest = distance = lead = weakest = FOREVER
    # Compared in place: this is the innermost loop of the timing of loads, and calls would be felt.
    for others, (head_us, distance_us, length_us, demand_ua, _) in enumerate(rivals):
        shortest = length_us if length_us < shortest else shortest
        weakest = demand_ua if demand_ua < weakest else weakest
        distance = distance_us if distance_us < distance else distance
        ahead = distance_us - length_us
        lead = ahead if ahead < lead else lead
        charge += length_us * demand_ua
        at_once = capacity // weakest or 1
        by_rounds = others // at_once * shortest + distance
        by_charge = lead - -charge // capacity
        bound = head_us + (by_rounds if by_rounds > by_charge else by_charge)
        best = bound if bound > best else best
    return best


@dataclass(slots=True)
class _Kind:
    """Pulses that may overlap among themselves but with no others of their channel.

    All rounds of them keep others away for `whole_us` or longer; from the start of the last round
    on it takes `distance_us` or longer to what is bounded, `ahead_us` of it after that round.
    """

    count: int
    shortest_us: int
    weakest_ua: int
    distance_us: int
    whole_us: int = 0
    ahead_us: int = 0

    def take(self, length_us: int, demand_ua: int, distance_us: int) -> None:
        """One pulse more."""
        self.count += 1
        if length_us < self.shortest_us:
            self.shortest_us = length_us
        if demand_ua < self.weakest_ua:
            self.weakest_ua = demand_ua
        if distance_us < self.distance_us:
            self.distance_us = distance_us

    def weigh(self, capacity: int, same_us: int) -> None:
        """Work out how long they keep others away, with so much between two rounds."""
        unit_us = self.shortest_us + same_us
        self.whole_us = ceil_div(self.count, capacity // self.weakest_ua or 1) * unit_us
        self.ahead_us = self.distance_us - unit_us


def _rounds_by_kind(rivals: Sequence[_Rival], capacity: int, channel: Channel) -> int:
    """The bound of the module for one channel, whose kinds are never on at one time."""
    best, whole_us, same_us = NEVER, 0, channel.same_us or 0
    kinds: dict[tuple[int, int], _Kind] = {}
    for head_us, distance_us, length_us, demand_ua, task in rivals:
        key = task.mode, length_us if channel.together else 0
        kind = kinds.get(key)
        if kind is None:
            kind = kinds[key] = _Kind(1, length_us, demand_ua, distance_us)
        else:
            whole_us -= kind.whole_us
            kind.take(length_us, demand_ua, distance_us)
        kind.weigh(capacity, same_us)
        whole_us += kind.whole_us
        bound = head_us + whole_us + min([other.ahead_us for other in kinds.values()])
        if bound > best:
            best = bound
    return best
