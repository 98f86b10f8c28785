"""What a load costs at least from positions that are known in part to an end known in part.

What isn't known of the start stands where it is first wanted. The bound is the greatest of three:
the fewest pulses from nothing known without the first of each actuator, and those that the start
makes sure; the shortest way through all needs, one by one; and for the load time the bound of the
needs that oppose each other.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cached_property, reduce
from itertools import combinations
from operator import or_

from seqc.solver.cost import Cost
from seqc.solver.load_time.time_bound import WORTH_ORDERING, TimeBound
from seqc.solver.objective import Objective
from seqc.solver.passes.held_karp import FEW_STOPS
from seqc.solver.passes.state_bound import StateBound
from seqc.solver.plan import GridPlan
from seqc.solver.positions import UNKNOWN, Positions
from seqc.solver.ways import Ways, agree, apart, in_all

TimeBoundTo = Callable[[Positions], TimeBound | None]


class CostBound:
    """The bound for one load."""

    def __init__(
        self,
        needs: Sequence[Ways],
        wanted: tuple[int, int],
        plan: GridPlan,
        time_bound_to: TimeBoundTo | None,
        objective: Objective,
    ) -> None:
        """The plan is the one with the fewest pulses from nothing known.

        `needs` are what is sure of them, `wanted` the actuators that they may want at rest and
        thrown. `time_bound_to` bounds the time of the load to an end, where a clock is at hand.
        """
        self.needs = needs
        self.gate_pulses = plan.gate_pulses
        self.passes = len(plan.passes)
        self.actuators = wanted[0] | wanted[1]
        selecting = plan.pulses_bound - plan.gate_pulses
        self.inside = max(0, selecting - self.actuators.bit_count())
        self._wanted = wanted
        self._time_bound_to = time_bound_to
        self._objective = objective
        self._time_bounds: dict[Positions | tuple[bool, ...], TimeBound | None] = {}
        self._state_bounds: dict[Positions, StateBound] = {}

    def lower_bound(self, at: Positions, end: Positions) -> Cost:
        """The least cost from some positions to others, each known in part."""
        pulses = max(self._after_the_first(at), self._need_by_need(at, end)) + self.gate_pulses
        time_bound = self._time_bound(end)
        if time_bound is None:
            return Cost.of(self._objective, 0, pulses)
        load_us, moves = time_bound.lower_bound(at)
        return Cost.of(self._objective, load_us, max(pulses, moves + self.gate_pulses))

    def _after_the_first(self, at: Positions) -> int:
        """The pulses that change what this load has set before, and those that must come first."""
        first = min((apart(ways, (at,)) for ways in self.needs), default=0)
        return self.inside + max(first, at.opposed(self.pure).bit_count())

    @cached_property
    def certain(self) -> tuple[int, int]:
        """The actuators that must be found at rest some time, and those that must be thrown."""
        always = [in_all(ways) for ways in self.needs]
        rest = reduce(or_, (wanted.known & ~wanted.thrown for wanted in always), 0)
        return rest, reduce(or_, (wanted.thrown for wanted in always), 0)

    @cached_property
    def pure(self) -> Positions:
        """What must be found in one position and may be wanted in no other."""
        rest, thrown = self._wanted
        known = (self.certain[0] | self.certain[1]) & ~(rest & thrown)
        return Positions(known, known & thrown)

    def _need_by_need(self, at: Positions, end: Positions) -> int:
        """The shortest way through all needs, where they are few; each actuator on its own."""
        rest = self.certain[0] | end.known & ~end.thrown
        thrown = self.certain[1] | end.thrown
        both = rest & thrown
        once = Positions((rest | thrown) & ~both, thrown & ~both)
        each = both.bit_count() + at.opposed(once).bit_count()
        if not 0 < len(self.needs) <= FEW_STOPS:
            return each
        every = (1 << len(self.needs)) - 1
        length = self._state_bound(end).length
        return max(
            each,
            min(
                apart(ways, (at,)) + length(number, number, every ^ 1 << number)
                for number, ways in enumerate(self.needs)
            ),
        )

    def _state_bound(self, end: Positions) -> StateBound:
        if end not in self._state_bounds:
            self._state_bounds[end] = StateBound(self.needs, end, self._one_each)
        return self._state_bounds[end]

    @cached_property
    def _one_each(self) -> bool:
        """Whether every pass loads one need and no other."""
        return self.passes == len(self.needs) and not any(
            agree(*pair) for pair in combinations(self.needs, 2)
        )

    def _time_bound(self, end: Positions) -> TimeBound | None:
        """The pace to an end; needs that oppose it equally are told apart no further."""
        if self._time_bound_to is None:
            return None
        if len(self.needs) > FEW_STOPS:
            end = UNKNOWN
        few = len(self.needs) <= WORTH_ORDERING
        key = end if few else tuple(not agree(ways, (end,)) for ways in self.needs)
        if key not in self._time_bounds:
            self._time_bounds[key] = self._time_bound_to(end)
        return self._time_bounds[key]
