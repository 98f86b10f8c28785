"""Section 4 of the design as a constraint model for OR-Tools, written apart from the scheduler.

It takes a machine and a plan and gives the shortest load, change or period that holds for any parts
within their tolerances, with a clock that is right. The rules are written from the design, pulse by
pulse, pair by pair, with no thought of speed.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field

from ortools.sat.python import cp_model

from seqc.machine.electrics import DriveKind
from seqc.machine.model import Machine
from seqc.machine.parts import Gate, Lane, Position
from seqc.machine.span import Span
from seqc.machine.wiring import Actuator
from seqc.solver.plan import FramePlan, GridPlan

HORIZON = 8_000_000
GUARD_US = 1_000


@dataclass
class Shot:
    """One pulse of the model."""

    actuator: Actuator
    position: Position
    start: cp_model.IntVar
    when: tuple[cp_model.IntVar, ...] = ()
    """What must be true so that it is given at all."""

    @property
    def settled(self) -> cp_model.LinearExpr:
        """At the latest, where the current starts at `start` at the earliest."""
        coil, part = self.actuator.coil, self.actuator.part
        return self.start + late(self.actuator) + coil.travel.most_us + part.settle.most_us

    @property
    def settled_first(self) -> cp_model.LinearExpr:
        coil, part = self.actuator.coil, self.actuator.part
        return self.start + coil.travel.least_us + part.settle.least_us

    @property
    def length(self) -> int:
        """To the latest end of the current.

        The slowest start and the quickest end leave the whole pulse; then comes the slowest end.
        """
        stops = switching(self.actuator)[1]
        return late(self.actuator) + self.actuator.coil.pulse_us + stops.most_us - stops.least_us

    @property
    def end(self) -> cp_model.LinearExpr:
        return self.start + self.length


@dataclass
class Model:
    """All pulses of what is to be done, in the order in which each actuator gives them."""

    machine: Machine
    cp: cp_model.CpModel = field(default_factory=cp_model.CpModel)
    shots: list[Shot] = field(default_factory=list)
    patience_s: float = 20
    workers: int = 8
    effort: float = float("inf")
    """Of the solver's own deterministic time, which a busy machine doesn't shorten."""

    def shot(self, actuator: Actuator, position: Position) -> Shot:
        start = self.cp.new_int_var(0, HORIZON, f"s{len(self.shots)}")
        shot = Shot(actuator, position, start)
        for other in reversed(self.shots):
            if other.actuator is actuator:
                self.cp.add(shot.start >= other.end + pause(actuator))
                break
        self.shots.append(shot)
        return shot

    def lane(self, actuator: Actuator) -> Lane:
        return self.machine.lane_of(actuator.grid.name)

    def select(self, actuator: Actuator, position: Position) -> None:
        """Only while every metering gate of its lanes is settled at rest."""
        done = list(self.shots)
        shot = self.shot(actuator, position)
        metering = self.lane(actuator).metering
        for other in done:
            same = other.actuator.part == metering and other.position is Position.REST
            if same and meets(other.actuator, actuator):
                self.cp.add(shot.start >= other.settled)

    def cycle(self, actuator: Actuator) -> Shot:
        """Thrown when selectors are settled and it is refilled, back when it has been open."""
        gate = actuator.part
        assert isinstance(gate, Gate)
        done = list(self.shots)
        throw = self.shot(actuator, Position.THROWN)
        lane = self.lane(actuator)
        names = {selector.name for selector in lane.selectors}
        for other in done:
            above = gate == lane.metering and other.actuator.part.name in names
            if above and meets(other.actuator, actuator):
                self.cp.add(throw.start >= other.settled)
            if other.actuator is actuator and other.position is Position.REST:
                self.cp.add(throw.start >= other.settled + gate.refill_us)
        rank = lane.gates.index(gate)
        fall_us = lane.paths[rank].fall.least_us if rank < lane.gates_above else 0
        arrival = throw.settled_first + fall_us
        holders = lane.dumps if rank == lane.gates_above - 1 else lane.gates[rank + 1 : rank + 2]
        for other in done:
            returns = other.position is Position.REST and other.actuator.part in holders
            if returns and meets(other.actuator, actuator):
                self.cp.add(arrival >= other.settled)
        back = self.shot(actuator, Position.REST)
        self.cp.add(back.start >= throw.settled + gate.open_us)
        return throw

    def passes(self, plan: GridPlan) -> list[Shot]:
        throws = []
        for step in plan.passes:
            for actuator, position in step.set:
                self.select(actuator, position)
            throws += [self.cycle(actuator) for actuator in step.operate]
        return throws

    def still(self, throw: Shot) -> cp_model.LinearExpr:
        lane = self.lane(throw.actuator)
        rank = [gate.name for gate in lane.gates].index(throw.actuator.part.name)
        return throw.settled + lane.paths[rank].fall.most_us + lane.paths[rank].settle.most_us

    def load(self, plan: FramePlan) -> list[cp_model.LinearExpr]:
        """When the items lie still above the last transfer gates."""
        ends = []
        for part in plan:
            lane = self.machine.lane_of(part.glyph.grid)
            if not lane.transfers:
                continue
            throws = self.passes(part)
            for stage in part.transfers:
                if stage[0].part == lane.transfers[-1]:
                    continue
                throws = self.hand_on(stage, throws)
            ends += [self.still(throw) for throw in throws]
        return ends

    def hand_on(self, stage: tuple[Actuator, ...], throws: list[Shot]) -> list[Shot]:
        passed = []
        for actuator in stage:
            shot = self.cycle(actuator)
            for above in throws:
                if meets(above.actuator, actuator):
                    self.cp.add(shot.start >= self.still(above))
            passed.append(shot)
        return passed

    def change(self, plan: FramePlan) -> tuple[list[Shot], list[cp_model.LinearExpr]]:
        """Its pulses, and when the items lie still where they are seen."""
        first = len(self.shots)
        ends = []
        for part in plan:
            lane = self.machine.lane_of(part.glyph.grid)
            tops: list[Shot] = []
            lasts: list[Shot] = []
            for stage in part.dumps:
                now = []
                for actuator in stage:
                    backs = [s for s in self.shots[first:] if s.position is Position.REST]
                    throw = self.cycle(actuator)
                    now.append(throw)
                    for back in backs:
                        before = any(back.actuator is last.actuator for last in lasts)
                        if before and meets(back.actuator, actuator):
                            self.cp.add(throw.start >= back.settled)
                lasts = now
                tops = tops or now
            if lane.transfers:
                last = [
                    a for stage in part.transfers for a in stage if a.part == lane.transfers[-1]
                ]
                throws = [self.cycle(actuator) for actuator in last]
            else:
                throws = self.passes(part)
            for throw, top in itertools.product(throws, tops):
                if meets(top.actuator, throw.actuator):
                    self.cp.add(throw.start >= top.start + late(top.actuator))
            ends += [self.still(throw) for throw in throws]
        return self.shots[first:], ends

    def share(self) -> None:
        """Supplies and what drives share."""
        for supply in self.machine.supplies:
            mine = [s for s in self.shots if s.actuator.drive.supply == supply]
            intervals = [self._interval(shot, f"i{n}") for n, shot in enumerate(mine)]
            demands = [s.actuator.coil.current_ua for s in mine]
            self.cp.add_cumulative(intervals, demands, supply.usable_ua)
        for one, two in itertools.combinations(self.shots, 2):
            if one.actuator.drive == two.actuator.drive:
                self.keep_apart(one, two)

    def _interval(self, shot: Shot, name: str) -> cp_model.IntervalVar:
        length = shot.length
        if not shot.when:
            return self.cp.new_fixed_size_interval_var(shot.start, length, name)
        (given,) = shot.when
        return self.cp.new_optional_fixed_size_interval_var(shot.start, length, given, name)

    def keep_apart(self, one: Shot, two: Shot) -> None:
        there, back = distance(one, two), distance(two, one)
        if there is None or back is None:
            return
        ways = [self.cp.new_bool_var(""), self.cp.new_bool_var("")]
        self.cp.add(two.start >= one.end + there).only_enforce_if(ways[0])
        self.cp.add(one.start >= two.end + back).only_enforce_if(ways[1])
        drive = one.actuator.drive
        turned = drive.kind is DriveKind.SHARED_REVERSER and one.position is not two.position
        if one.length == two.length and not turned:
            ways.append(self.cp.new_bool_var(""))
            self.cp.add(one.start == two.start).only_enforce_if(ways[2])
            if drive.switch is None:
                raise AssertionError("only a pulse switch keeps pulses of one polarity apart")
        self.cp.add_bool_or(ways).only_enforce_if(*one.when, *two.when)

    def least(self, objective: cp_model.LinearExprT) -> int | None:
        """The least value of an expression, None if it can't be proven in good time."""
        self.cp.minimize(objective)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = self.workers
        solver.parameters.max_time_in_seconds = self.patience_s
        solver.parameters.max_deterministic_time = self.effort
        solver.parameters.symmetry_level = 0
        solver.parameters.cp_model_probing_level = 0
        proven = solver.solve(self.cp) == cp_model.OPTIMAL
        return round(solver.objective_value) if proven else None

    def latest(self, times: list[cp_model.LinearExpr]) -> cp_model.IntVar:
        end = self.cp.new_int_var(0, HORIZON, "end")
        for time in times:
            self.cp.add(end >= time)
        return end


def longest_lead(machine: Machine) -> int:
    """How long before the earliest start of its pulse an output changes."""
    return max(map(lead, machine.actuators))


def lead(actuator: Actuator) -> int:
    """Contacts are at rest a guard before the switch closes, at the latest before the earliest.

    The rail's reverser is at rest a guard before the coil's relay closes, likewise.
    """
    drive = actuator.drive
    starts = switching(actuator)[0].least_us
    if drive.relay is None:
        return starts if drive.switch is None else max(starts, GUARD_US)
    operate, bounce = drive.relay.operate, drive.relay.bounce.most_us
    before = starts if drive.switch is None else operate.most_us + bounce + GUARD_US
    if drive.reverser is not None:
        before += operate.most_us - operate.least_us + bounce + GUARD_US
    return max(before, starts)


def meets(one: Actuator, two: Actuator) -> bool:
    """Whether two actuators act on a common lane."""
    return one.grid == two.grid and bool(set(one.cells) & set(two.cells))


def pause(actuator: Actuator) -> int:
    """From the end of a pulse to the next of the same coil."""
    drive, relay = actuator.drive, actuator.drive.relay
    if drive.switch is not None:
        own = max(actuator.coil.recover_us, actuator.coil.decay.most_us, drive.dead_us)
        opposed = 0
        if relay is not None:
            # The one polarity's contact has opened before the other's may close.
            closing = relay.operate.most_us - relay.operate.least_us + relay.bounce.most_us
            opposed = relay.release.most_us + closing + GUARD_US
        return max(own, contacts(actuator), opposed)
    bounce = relay.bounce.most_us if relay else 0
    own = max(actuator.coil.recover_us, actuator.coil.decay.most_us + bounce, drive.dead_us)
    return max(own, relay.operate.least_us if relay else 0)


def switching(actuator: Actuator) -> tuple[Span, Span]:
    """From the output to the start and the end of the current."""
    drive, none = actuator.drive, Span(0, 0, 0)
    if drive.switch is not None:
        return drive.turn_on, drive.turn_off
    return (drive.relay.operate, drive.relay.release) if drive.relay else (none, none)


def late(actuator: Actuator) -> int:
    """How much later than at the earliest a current may start."""
    starts = switching(actuator)[0]
    return starts.most_us - starts.least_us


def contacts(actuator: Actuator) -> int:
    """The time that contacts move while a pulse switch is open, and a guard; and to open it."""
    relay = actuator.drive.relay
    moves = 0
    if relay is not None:
        moves = max(relay.operate.most_us, relay.release.most_us) + relay.bounce.most_us
    return max(moves, actuator.drive.turn_on.least_us) + GUARD_US


def distance(first: Shot, second: Shot) -> int | None:
    """From the end of a pulse to the start of a later one of the same drive, None: any."""
    drive = first.actuator.drive
    switched = drive.switch is not None
    apart = contacts(first.actuator) if switched else None
    if drive.kind is DriveKind.SHARED_REVERSER and first.position is not second.position:
        relay = drive.relay
        assert relay is not None
        reverse = second.position is Position.REST
        bounce = relay.bounce.most_us
        turn = (relay.operate if reverse else relay.release).most_us + bounce
        clear = first.actuator.coil.decay.most_us + GUARD_US
        if switched:
            clear = max(clear, relay.release.most_us + bounce + GUARD_US)
            varies = relay.operate.most_us - relay.operate.least_us + bounce
            turn += GUARD_US + (varies if reverse else 0)
        else:
            clear += bounce
        return max(apart or 0, clear + turn + GUARD_US)
    return apart


def least_load(machine: Machine, plan: FramePlan) -> int | None:
    """The shortest load of a frame from a quiet machine."""
    model = Model(machine)
    ends = model.load(plan)
    model.share()
    return model.least(model.latest(ends))


def least_change(machine: Machine, plan: FramePlan) -> int | None:
    """The shortest change to a loaded frame from a quiet machine."""
    model = Model(machine)
    _, ends = model.change(plan)
    model.share()
    return model.least(model.latest(ends))


def least_period(machine: Machine, shown: FramePlan, coming: FramePlan) -> int | None:
    """The shortest time from the first pulse of one change to the first pulse of the next.

    What is seen lies still before the first output of the next change, which leads its pulse.
    """
    model = Model(machine)
    changing, seen = model.change(shown)
    start = model.cp.new_int_var(0, HORIZON, "start")
    model.cp.add_min_equality(start, [shot.start for shot in changing])
    model.cp.add(start == 0)
    loaded = model.load(coming)
    following, _ = model.change(coming)
    lead = longest_lead(machine) if seen else 0
    begin = model.latest([*(end + lead for end in seen), *loaded])
    first = model.cp.new_int_var(0, HORIZON, "first")
    model.cp.add_min_equality(first, [shot.start for shot in following])
    model.cp.add(first >= begin)
    model.share()
    return model.least(first)
