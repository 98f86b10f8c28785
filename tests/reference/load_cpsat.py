"""Sections 3 and 4 of the design as one constraint model for OR-Tools: order and schedule together.

It chooses which pass takes each group, where each selector stands in each pass and when every pulse
starts. A pulse of a pass comes after the gates of earlier passes that its selector lies above, and
before those of its own and later passes. Nothing here imports the solver or the scheduler.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

from ortools.sat.python import cp_model

from reference.brute import Load, Setting, every_setting
from reference.cp_sat import passes_and_pulses
from reference.schedule_cpsat import HORIZON, Model, Shot, meets, pause
from seqc.machine.glyphs import Frame
from seqc.machine.parts import Cell, Gate, Position
from seqc.machine.wiring import Actuator
from seqc.solver.plan import FramePlan, GridPlan
from seqc.solver.positions import UNKNOWN

EFFORT = 0.1
PATIENCE_S = 1.5

Best = tuple[int, int, int]
"""Passes, load time in microseconds, selector pulses."""


@dataclass(frozen=True, slots=True)
class Freedom:
    """What the model may do beyond the letter of section 3.

    `ahead`: set a selector in a pass that doesn't need it. `later`: operate a gate in a later pass
    than the first that serves it. `between`: let a selector move before or after any gate that
    doesn't depend on it, whatever their passes.
    """

    ahead: bool = False
    later: bool = True
    between: bool = False


@dataclass
class _LoadModel(Model):
    """The model of a frame's pulses in which the passes are still to be chosen."""

    wanted: Load | None = None
    start: Setting = ()
    count: int = 0
    freedom: Freedom = Freedom()
    moves: list[cp_model.IntVar] = field(default_factory=list)

    def passes(self, plan: GridPlan) -> list[Shot]:  # noqa: ARG002
        """Every gate once, in some pass; selectors wherever they must move."""
        assert self.wanted is not None
        throws = [self.cycle(group) for group in self.wanted.groups]
        choice = _Choice(self, self.wanted)
        choice.needs()
        choice.selectors(throws)
        return throws


@dataclass(eq=False)
class _Choice:
    """The variables of one grid: positions by pass, passes of groups, what depends on what."""

    model: _LoadModel
    load: Load

    @property
    def cp(self) -> cp_model.CpModel:
        return self.model.cp

    @cached_property
    def numbers(self) -> range:
        return range(self.model.count)

    @cached_property
    def thrown(self) -> list[list[cp_model.IntVar]]:
        """By pass and selector; the start comes first."""
        names = range(len(self.load.selectors))
        start = [self.cp.new_constant(int(bool(at))) for at in self.model.start]
        return [start, *([self.cp.new_bool_var("") for _ in names] for _ in self.numbers)]

    @cached_property
    def taken(self) -> list[list[cp_model.IntVar]]:
        """By group and pass."""
        found = [[self.cp.new_bool_var("") for _ in self.numbers] for _ in self.load.groups]
        for row in found:
            self.cp.add_exactly_one(row)
        return found

    @cached_property
    def depends(self) -> list[list[cp_model.IntVar]]:
        """By group and selector: whether the group counts on the selector's position."""
        names = range(len(self.load.selectors))
        return [[self.cp.new_bool_var("") for _ in names] for _ in self.load.groups]

    def needs(self) -> None:
        for g, group in enumerate(self.load.groups):
            chosen: list[list[cp_model.IntVar]] = [[] for _ in self.load.selectors]
            for cell in group.cells:
                self._counted_on(g, list(self._ways(cell)), chosen)
            for a, along in enumerate(chosen):
                self.cp.add_bool_or(along or [self.cp.new_constant(0)]).only_enforce_if(
                    self.depends[g][a]
                )
            if not self.model.freedom.later:
                self._at_once(g, group)
        self.cp.add_bool_and([self._any([row[t] for row in self.taken]) for t in self.numbers])

    def _counted_on(
        self, g: int, ways: list[dict[int, bool]], chosen: list[list[cp_model.IntVar]]
    ) -> None:
        """One of the ways to offer a cell its kind is chosen, and holds in the group's pass."""
        along = [self.cp.new_bool_var("") for _ in ways]
        self.cp.add_exactly_one(along)
        for way, one in zip(ways, along, strict=True):
            for a, at in way.items():
                chosen[a].append(one)
                self.cp.add_implication(one, self.depends[g][a])
                for t in self.numbers:
                    stands = self.thrown[t + 1][a] if at else self.thrown[t + 1][a].negated()
                    self.cp.add_implication(self.taken[g][t], stands).only_enforce_if(one)

    def _at_once(self, g: int, group: Actuator) -> None:
        """No pass before the group's own serves it."""
        for t in self.numbers:
            served = [self._served(t, cell) for cell in group.cells]
            waits = [self.taken[g][later] for later in self.numbers[t + 1 :]]
            self.cp.add_bool_or([one.negated() for one in served]).only_enforce_if(self._any(waits))

    def _served(self, t: int, cell: Cell) -> cp_model.IntVar:
        """Implied by: a pass offers a cell its kind."""
        served = self.cp.new_bool_var("")
        for way in self._ways(cell):
            stands = [
                self.thrown[t + 1][a] if at else self.thrown[t + 1][a].negated()
                for a, at in way.items()
            ]
            self.cp.add_bool_or([served, *(one.negated() for one in stands)])
        return served

    def _ways(self, cell: Cell) -> Iterator[dict[int, bool]]:
        """The smallest sets of positions that are sure to offer the cell its kind."""
        kind = self.load.glyph.kinds[self.load.machine.lanes[0].grid.index_of[cell]]
        above = [n for n, selector in enumerate(self.load.selectors) if cell in selector.cells]
        found: list[dict[int, bool]] = []
        for size in range(len(above) + 1):
            for names in itertools.combinations(above, size):
                for values in every_setting(size):
                    way = dict(zip(names, (bool(value) for value in values), strict=True))
                    setting = tuple(way.get(n) for n in range(len(self.load.selectors)))
                    if any(less.items() <= way.items() for less in found):
                        continue
                    if self.load.offered(cell, setting) == {kind}:
                        found.append(way)
        yield from found

    def _any(self, several: list[cp_model.IntVar]) -> cp_model.IntVar:
        """A variable that is true just where any of several is."""
        found = self.cp.new_bool_var("")
        self.cp.add_max_equality(found, several or [self.cp.new_constant(0)])
        return found

    def selectors(self, throws: list[Shot]) -> None:
        """The pulses of every selector that moves, pass by pass."""
        rests = [
            next(
                shot
                for shot in self.model.shots
                if shot.actuator is throw.actuator and shot.position is Position.REST
            )
            for throw in throws
        ]
        for a, selector in enumerate(self.load.selectors):
            before: list[Shot] = []
            for t in self.numbers:
                now = list(self._moves(a, selector, t))
                for shot in now:
                    for other in before:
                        apart = shot.start >= other.end + pause(selector)
                        self.cp.add(apart).only_enforce_if(*shot.when, *other.when)
                    for g, (throw, rest) in enumerate(zip(throws, rests, strict=True)):
                        if meets(selector, throw.actuator):
                            self._in_turn(shot, t, g, a, throw, rest)
                before += now

    def _moves(self, a: int, selector: Actuator, t: int) -> Iterator[Shot]:
        """A pulse to either position, given where the selector stood in the other one."""
        was, stands = self.thrown[t][a], self.thrown[t + 1][a]
        for position in Position:
            forward = position is Position.THROWN
            moved = self.cp.new_bool_var("")
            now, then = (stands, was.negated()) if forward else (stands.negated(), was)
            self.cp.add_bool_and([now, then]).only_enforce_if(moved)
            self.cp.add_bool_or([moved, now.negated(), then.negated()])
            self.model.moves.append(moved)
            if not self.model.freedom.ahead:
                self._is_needed(moved, a, t)
            start = self.cp.new_int_var(0, HORIZON, "")
            shot = Shot(selector, position, start, (moved,))
            self.model.shots.append(shot)
            yield shot

    def _is_needed(self, moved: cp_model.IntVar, a: int, t: int) -> None:
        """Only where a group of the pass depends on it."""
        for_any = []
        for taken, depends in zip(self.taken, self.depends, strict=True):
            both = self.cp.new_bool_var("")
            self.cp.add_bool_and([taken[t], depends[a]]).only_enforce_if(both)
            for_any.append(both)
        self.cp.add_bool_or(for_any).only_enforce_if(moved)

    def _in_turn(self, shot: Shot, t: int, g: int, a: int, throw: Shot, rest: Shot) -> None:
        """A selector moves before a gate below it is thrown, or when it is settled at rest."""
        gone = self._any([self.taken[g][earlier] for earlier in self.numbers[:t]])
        after = self.cp.new_bool_var("")
        if self.model.freedom.between:
            self.cp.add(after == gone).only_enforce_if(self.depends[g][a])
        else:
            self.cp.add(after == gone)
        self.cp.add(shot.start >= rest.settled).only_enforce_if(after, *shot.when)
        self.cp.add(throw.start >= shot.settled).only_enforce_if(after.negated(), *shot.when)


def best_load(
    load: Load,
    start: Setting,
    freedom: Freedom = Freedom(),
    *,
    within_us: int = HORIZON,
    pulses_first: bool = False,
) -> Best | None:
    """Passes, load time and selector pulses of the best plan that is loaded within some time.

    None if the best isn't proven with the effort allowed. The glyph must be within reach.
    """
    fewest = passes_and_pulses(load, start)
    assert fewest is not None
    count, pulses = fewest
    model = _LoadModel(load.machine, wanted=load, start=start, count=count, freedom=freedom)
    plan = _gates_of(load)
    ends = model.load(plan) if load.machine.lanes[0].transfers else model.change(plan)[1]
    model.share()
    end, moved = model.latest(ends), sum(model.moves)
    model.patience_s, model.workers, model.effort = PATIENCE_S, 1, EFFORT
    model.cp.add(end <= within_us)
    if pulses_first:
        model.cp.add(moved <= pulses)
    first = model.least(end)
    if first is None:
        return None
    if pulses_first:
        return count, first, pulses
    model.cp.add(end <= first)
    second = model.least(moved)
    return None if second is None else (count, first, second)


def _gates_of(load: Load) -> FramePlan:
    """The gates of the change, without passes: those that meet a cell that is loaded."""
    machine, lane = load.machine, load.machine.lanes[0]
    cells = {cell for group in load.groups for cell in group.cells}

    def stages(gates: tuple[Gate, ...]) -> tuple[tuple[Actuator, ...], ...]:
        moved = (
            tuple(one for one in machine.actuators_of(gate, lane.grid) if cells & set(one.cells))
            for gate in gates
        )
        return tuple(stage for stage in moved if stage)

    grid = GridPlan(
        load.glyph, (), stages(lane.dumps), stages(lane.transfers), UNKNOWN, UNKNOWN, 0, 0
    )
    return FramePlan(Frame((load.glyph,)), (grid,))
