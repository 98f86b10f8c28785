"""What the solver answers: for each frame the passes that load it, and how good they are."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import reduce

from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.parts import Cell, Position
from seqc.machine.wiring import Actuator
from seqc.solver.cost import NOTHING, Cost
from seqc.solver.objective import Objective
from seqc.solver.positions import Positions

PULSES_PER_CYCLE = 2


@dataclass(frozen=True, slots=True)
class Pass:
    """Selectors to pulse, then metering gates to cycle together.

    `set` has only the selectors that must move (or whose position isn't known); `operate` the
    metering actuators.
    """

    set: tuple[tuple[Actuator, Position], ...]
    operate: tuple[Actuator, ...]


@dataclass(frozen=True)
class GridPlan:
    """How one grid comes to show one glyph.

    The passes come first; then, at the change, `dumps` and `transfers`: each is a tuple of stages
    in the order in which they are cycled, a stage being the actuators of one gate. Where the lane
    has no transfer gate the passes themselves are the change. Cells whose metering actuator is in
    no pass keep their item; they are `kept`. `start` and `end` are the positions before the first
    pass and after the last. `passes_bound` and `pulses_bound` are proven lower bounds: no plan of
    this frame from this start has fewer passes, or as few passes and fewer pulses.

    Where a clock was at hand, `load_us` is the load time of the grid by itself, and `load_bound_us`
    a bound of it among plans that set a selector in the pass that needs it, not before. Under the
    objective of load time `pulses_bound` speaks of plans that are as quick.
    """

    glyph: Glyph
    passes: tuple[Pass, ...]
    dumps: tuple[tuple[Actuator, ...], ...]
    transfers: tuple[tuple[Actuator, ...], ...]
    start: Positions
    end: Positions
    passes_bound: int
    pulses_bound: int
    objective: Objective = Objective.PULSES
    load_us: int | None = None
    load_bound_us: int | None = None
    kept: tuple[Cell, ...] = ()

    @property
    def selector_pulses(self) -> int:
        """How many pulses set selectors."""
        return sum(len(step.set) for step in self.passes)

    @property
    def gate_pulses(self) -> int:
        """How many pulses cycle gates, two for each cycle."""
        cycles = sum(len(step.operate) for step in self.passes)
        cycles += sum(len(stage) for stage in (*self.dumps, *self.transfers))
        return PULSES_PER_CYCLE * cycles

    @property
    def pulses(self) -> int:
        """All pulses, of selectors and of gates."""
        return self.selector_pulses + self.gate_pulses

    @property
    def cost(self) -> Cost:
        """What the plan costs; without a clock in pulses alone."""
        return Cost.of(self.objective, self.load_us or 0, self.pulses)

    @property
    def lower_bound(self) -> Cost:
        """What any plan in its place costs at least, in as few passes."""
        return Cost.of(self.objective, self.load_bound_us or 0, self.pulses_bound)

    @property
    def proven(self) -> bool:
        """Whether the plan is proven best, in passes, pulses and, where it counts, load time."""
        return (
            len(self.passes) == self.passes_bound
            and self.pulses == self.pulses_bound
            and self.load_us == self.load_bound_us
        )


@dataclass(frozen=True)
class FramePlan:
    """How the whole board comes to show one frame: a plan for each grid that has a glyph in it."""

    frame: Frame
    grids: tuple[GridPlan, ...]

    @property
    def pulses(self) -> int:
        """All pulses of the frame."""
        return sum(plan.pulses for plan in self.grids)

    @property
    def proven(self) -> bool:
        """Whether every grid's plan is proven best."""
        return all(plan.proven for plan in self.grids)

    @property
    def start(self) -> Positions:
        """The positions of all its grids before the first pass."""
        return _joined(plan.start for plan in self.grids)

    @property
    def end(self) -> Positions:
        """The positions of all its grids after the last pass."""
        return _joined(plan.end for plan in self.grids)

    def __iter__(self) -> Iterator[GridPlan]:
        return iter(self.grids)


def _joined(several: Iterable[Positions]) -> Positions:
    joined = Positions()
    for positions in several:
        joined = joined.then(positions)
    return joined


@dataclass(frozen=True)
class ProgrammePlan:
    """The plans of all frames of a programme, the positions carried from each to the next.

    Of a repeating programme `again` loads the first frame after the last one and ends where the
    first plan ends, so that the second frame's plan can follow either. `lower_bound` is a lower
    bound of the cost for the fewest passes of each frame, whatever the order of the passes.
    """

    plans: tuple[FramePlan, ...]
    again: FramePlan | None = None
    lower_bound: Cost = NOTHING
    objective: Objective = Objective.PULSES

    @property
    def round(self) -> tuple[FramePlan, ...]:
        """The plans of one run; of a repeating programme those of one round."""
        return self.plans if self.again is None else (*self.plans[1:], self.again)

    @property
    def cost(self) -> Cost:
        """What one run or round costs, each grid timed by itself."""
        return reduce(Cost.also, (grid.cost for plan in self.round for grid in plan), NOTHING)

    @property
    def pulses(self) -> int:
        """All pulses of one run; of a repeating programme those of one round."""
        return self.cost.pulses

    @property
    def proven(self) -> bool:
        """Whether no choice of the frames' orders is better, in passes, pulses or load times."""
        fewest = all(len(grid.passes) == grid.passes_bound for plan in self.round for grid in plan)
        return fewest and self.cost == self.lower_bound
