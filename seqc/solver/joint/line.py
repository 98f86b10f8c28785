"""The best plans of shows one after the other: a shortest path through the ends of each.

The search takes the way with the least sum of its cost so far and a bound of what must still come
(A*: P. Hart, N. Nilsson, B. Raphael, 1968); a plan is made only when a way that goes through it
comes first. Of two ways to one show one is dropped if it stays no better whatever follows. Where so
many plans would take too long, the plans that are best one by one are what is answered.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from seqc.machine.progress import tell
from seqc.solver.cost import NOTHING, Cost, least_of
from seqc.solver.joint.shows import Show, ShowPlans
from seqc.solver.objective import Objective
from seqc.solver.plan import GridPlan
from seqc.solver.positions import UNKNOWN, Positions

MOST_NODES = 256
RESERVE = 2
"""So many plans of each show are kept work for."""

STEPS = 32
"""It is as much work as a node to compare so many bounds."""

MOST_STEPS = 20_000
STEPS_A_SHOW = 50
FEW_STEPS = 500
"""So many more where a best way is found, but not all of its plans are proven."""


@dataclass(frozen=True, slots=True)
class Way:
    """The way to a show's end: its cost, the positions, the last plan, and the way before it.

    `lower_bound` is what the plans to its ends cost at least. What is known beforehand of the
    positions, and has a bound of what must still come, is the `node`.
    """

    cost: Cost
    lower_bound: Cost
    at: Positions
    node: Positions
    number: int = 0
    plan: GridPlan | None = None
    before: Way | None = None

    def then(self, plan: GridPlan, node: Positions) -> Way:
        """The way with one more plan."""
        cost, lower_bound = self.cost.also(plan.cost), self.lower_bound.also(plan.lower_bound)
        return Way(cost, lower_bound, plan.end, node, self.number + 1, plan, self)

    def plans(self) -> tuple[GridPlan, ...]:
        """All plans, in order."""
        found = []
        way: Way | None = self
        while way is not None and way.plan is not None:
            found.append(way.plan)
            way = way.before
        return tuple(reversed(found))


_Step = tuple[Positions, Positions, Cost]
"""An end of a show, what a plan from some positions is to end in for it, and its least cost."""

_Ticket = tuple[Cost, Way, _Step | None]
"""What a line costs at least that goes on from a way by some step, or by any."""


class LineSearch:
    """The search for a line of shows, of which each can end in some positions."""

    def __init__(
        self,
        plans: ShowPlans,
        shows: Sequence[Show],
        start: Positions,
        goal: Positions | None,
    ) -> None:
        """The last show is loaded whole where its `goal` can't be met otherwise.

        The search for the best way ends while there is still work for some plans of each show.
        """
        self.plans = plans
        self.shows = shows
        self.start = start
        self.goal = goal
        self._reserve = RESERVE * len({show.key for show in shows})
        self._closes = goal is None or not shows or plans.closes(shows[-1], goal)
        self._care = self._cared_for()
        self._ends = [self._ends_of(number) for number in range(len(shows))]
        self._carries: list[bool] = []
        self._rows: dict[tuple[tuple[int, int], Positions, int, bool], list[_Step]] = {}
        self._rest_bounds = self._all_rest_bounds()
        self._deepest = Way(NOTHING, NOTHING, start, start)

    def _cared_for(self) -> list[int]:
        """After each show the actuators whose positions still count."""
        care = [0 if self.goal is None else self.goal.known]
        for show in reversed(self.shows[1:]):
            care.append(care[-1] | self.plans.load(show).actuators)
        return care[::-1]

    def _all_rest_bounds(self) -> list[dict[Positions, Cost]]:
        """For each show and each node before it what it and all after it cost at least."""
        nodes = [[self.start]]
        known: dict[tuple[object, ...], tuple[bool, list[Positions]]] = {}
        for number, ends in enumerate(self._ends):
            last = number + 1 == len(self.shows)
            key = (id(nodes[-1]), self.shows[number].key, self._care[number], last)
            if key not in known:
                known[key] = self._nodes_after(nodes[-1], number, ends)
            carries, after = known[key]
            self._carries.append(carries)
            nodes.append(after)
        rest_bounds: list[dict[Positions, Cost]] = [{} for _ in nodes]
        rest_bounds[-1] = dict.fromkeys(nodes[-1], NOTHING)
        for number in range(len(self.shows) - 1, -1, -1):
            tell("bounding frames", len(self.shows) - 1 - number, len(self.shows))
            onward = rest_bounds[number + 1]
            self.plans.bounding.spend(len(nodes[number]) * len(self._ends[number]) // STEPS)
            for node in nodes[number]:
                rest_bounds[number][node] = least_of(
                    [
                        lower_bound.also(onward[self._node(number, node, end)])
                        for end, _, lower_bound in self._steps(number, node)
                    ]
                )
        return rest_bounds

    def _nodes_after(
        self, nodes: Sequence[Positions], number: int, ends: Sequence[Positions]
    ) -> tuple[bool, list[Positions]]:
        """The nodes after a show, and whether they carry what was known before it."""
        natural, care = self._ends_are_all(number), self._care[number]
        carried = dict.fromkeys(
            (at.then(end) if natural else end).within(care) for at in nodes for end in ends
        )
        carries = natural and len(carried) <= MOST_NODES
        return carries, list(carried if carries else dict.fromkeys(ends))

    def _node(self, number: int, node: Positions, end: Positions) -> Positions:
        """The node after a show that ends so."""
        return (node.then(end) if self._carries[number] else end).within(self._care[number])

    def _ends_are_all(self, number: int) -> bool:
        """Whether each end of a show is among those that are tried, as far as it counts."""
        if self.goal is not None and number + 1 == len(self.shows):
            return True
        load = self.plans.load(self.shows[number])
        return load.natural_ends is not None or not load.actuators & self._care[number]

    def _ends_of(self, number: int) -> tuple[Positions, ...]:
        if self.goal is not None and number + 1 == len(self.shows):
            return (self.goal,)
        ends = self.plans.load(self.shows[number]).ends
        return tuple(dict.fromkeys(end.within(self._care[number]) for end in ends))

    def _steps(self, number: int, at: Positions) -> list[_Step]:
        """The steps that a show can take; kept for equal shows."""
        show, care = self.shows[number], self._care[number]
        last = number + 1 == len(self.shows)
        key = (show.key, at, care, last)
        if key not in self._rows:
            targets = [(end, self._target(number, at, end)) for end in self._ends[number]]
            closes = self._closes or not last
            self._rows[key] = [
                (end, target, self.plans.lower_bound(show, at, target) if closes else NOTHING)
                for end, target in targets
            ]
        return self._rows[key]

    def _target(self, number: int, at: Positions, end: Positions) -> Positions:
        """What a plan is to end in: what its needs leave as it was is to stay so."""
        load = self.plans.load(self.shows[number])
        if end is self.goal or load.natural_ends is None:
            return end
        return at.then(end).within(load.actuators & self._care[number])

    @property
    def lower_bound(self) -> Cost:
        """What the line costs at least."""
        return self._rest_bounds[0][self.start]

    def best(self) -> tuple[Way, Cost]:
        """A way through all shows, and the least cost of any; the best one if both are equal."""
        way, lower_bound = self._guided()
        every = all(self._ends_are_all(number) for number in range(len(self.shows)))
        if way is not None and every:
            return way, lower_bound
        found = [self._one_by_one()]
        if way is None and not self.plans.work.over:
            way = self._completed()
        found += [way] if way else []
        return min(found, key=lambda each: each.cost), lower_bound if every else self.lower_bound

    def _guided(self) -> tuple[Way | None, Cost]:
        """The best way by these ends, if so many plans are enough, and the least cost of any."""
        tickets = itertools.count()
        first = Way(NOTHING, NOTHING, self.start, self.start)
        waiting: list[tuple[Cost, int, int, Way, _Step | None]] = [
            (self.lower_bound, 0, next(tickets), first, None)
        ]
        done: dict[int, list[Way]] = {}
        best: Way | None = None
        lower_bound: Cost | None = None
        steps = MOST_STEPS + STEPS_A_SHOW * len(self.shows)
        farthest = 0
        while waiting:
            steps -= 1
            bound, _, _, way, step = heapq.heappop(waiting)
            if way.number > farthest:
                farthest = way.number
                tell("planning frames", farthest, len(self.shows))
            if best is not None and bound >= best.cost:
                break
            if way.number == len(self.shows):
                lower_bound, steps = lower_bound or bound, min(steps, FEW_STEPS)
                best = way if best is None or way.cost < best.cost else best
                continue
            if steps < 0 or not self.plans.affords(self._reserve):
                return best, lower_bound or max(bound, self.lower_bound)
            self._deepest = max(self._deepest, way, key=lambda each: each.number)
            if step is not None:
                found = self._through(way, step)
            elif not self._late(way, done.setdefault(way.number, [])):
                found = self._onward(way)
            else:
                continue
            for cost, after, next_step in found:
                heapq.heappush(waiting, (cost, -after.number, next(tickets), after, next_step))
        return best, lower_bound or self.lower_bound

    def _through(self, way: Way, step: _Step) -> list[_Ticket]:
        """The way with the plan of a step, or first the step with a sharper bound."""
        end, target, bound = step
        rest_bound = self._rest_bound_after(way, end)
        sharp = self.plans.sharper(self.shows[way.number], way.at, target, bound)
        if sharp > bound:
            return [(way.lower_bound.also(sharp).also(rest_bound), way, (end, target, sharp))]
        grown = self._grown(way, end, target)
        return [(grown.lower_bound.also(rest_bound), grown, None)] if grown else []

    def _late(self, way: Way, rivals: list[Way]) -> bool:
        """Whether one of the ways that came here before is as good whatever follows."""
        care = self._care[way.number - 1] if way.number else -1
        if any(self._as_good(rival, way, care) for rival in rivals):
            return True
        rivals.append(way)
        return False

    def _as_good(self, rival: Way, way: Way, care: int) -> bool:
        """By pulses a way that has to make up for some positions may be as good as well."""
        apart = rival.at.missing(way.at) & care
        if not apart and rival.cost.covers(way.cost) and rival.lower_bound.covers(way.lower_bound):
            return True
        if self.plans.objective is Objective.LOAD_TIME:
            return False
        behind = apart.bit_count() + (self.plans.clock is not None)
        return all(
            one.pulses + behind <= other.pulses
            for one, other in ((rival.cost, way.cost), (rival.lower_bound, way.lower_bound))
        )

    def _onward(self, way: Way) -> list[_Ticket]:
        """The steps that the next show can take, with what the whole line then costs at least."""
        found: list[_Ticket] = []
        for step in self._steps(way.number, way.at):
            rest_bound = self._rest_bound_after(way, step[0])
            found.append((way.lower_bound.also(step[2]).also(rest_bound), way, step))
        return found

    def _rest_bound_after(self, way: Way, end: Positions) -> Cost:
        """What all shows but the next cost at least if that ends so."""
        return self._rest_bounds[way.number + 1][self._node(way.number, way.node, end)]

    def _grown(self, way: Way, end: Positions, target: Positions) -> Way | None:
        """The way with the next show's plan, None where that can't end so."""
        show, node = self.shows[way.number], self._node(way.number, way.node, end)
        if self.goal is not None and way.number + 1 == len(self.shows):
            return way.then(self.plans.closing(show, way.at, self.goal), node)
        plan = self.plans.plan(show, way.at, target)
        return way.then(plan, node) if plan else None

    def _completed(self) -> Way | None:
        """The deepest way that was reached, gone on with by the steps with the least bounds."""
        way = self._deepest
        while way.number < len(self.shows):
            steps = sorted(self._onward(way), key=lambda ticket: ticket[0])
            grown = (self._grown(way, step[0], step[1]) for _, _, step in steps if step)
            onward = next((each for each in grown if each), None)
            if onward is None:
                return None
            way = onward
        return way

    def _one_by_one(self) -> Way:
        """Each show's best plan, wherever it ends."""
        way = Way(NOTHING, NOTHING, self.start, self.start)
        while way.number < len(self.shows):
            grown = self._grown(way, UNKNOWN, UNKNOWN)
            assert grown is not None
            way = grown
        return way
