"""The moves of one kind of grid in time: each load and each change by itself."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import product

from seqc.machine.glyphs import Frame
from seqc.schedule.actions import Actions
from seqc.schedule.builder import Builder
from seqc.schedule.drives.choice import rules_of
from seqc.schedule.frame import Stretch, change_alone, load_alone
from seqc.schedule.home import clear_pulses, home_pulses
from seqc.schedule.pulses import Pulse, in_order
from seqc.schedule.topology import Topology
from seqc.schedule.tracks.kinds import Kind
from seqc.solver.plan import FramePlan, GridPlan
from seqc.solver.rotations import Move, PlannedMove


@dataclass(frozen=True)
class TimedMove:
    """A move: its plan, and what brings the items and what shows them, each from a quiet grid.

    The load of a first move lets go first of what an interrupted load left waiting.
    """

    planned: PlannedMove
    load: Stretch
    change: Stretch


@dataclass(frozen=True)
class TimedKind:
    """A kind of grid in time; a load starts at least `wait_us` after a change in the same tick."""

    kind: Kind
    home: Stretch
    moves: Mapping[Move, TimedMove]
    wait_us: int


class Moving:
    """Puts the moves of grids into time, what several of them do alike but once."""

    def __init__(self, topology: Topology, nodes: int) -> None:
        self.topology = topology
        self._nodes = nodes
        self._actions = Actions()
        self._loads: dict[object, Stretch] = {}
        self._changes: dict[object, Stretch] = {}
        self._clears: dict[str, Stretch] = {}

    def kind(self, kind: Kind, planned: Mapping[Move, PlannedMove]) -> TimedKind:
        """All moves of a kind."""
        moves = {move: self.move(move, one) for move, one in planned.items()}
        home = home_pulses(self.topology.machine, kind.copies[0].grid)
        return TimedKind(kind, home, moves, self._wait_us(moves))

    def move(self, move: Move, planned: PlannedMove) -> TimedMove:
        """One move."""
        plan = _alone(planned.plan)
        key = self._actions.of(plan)
        if key not in self._loads:
            self._loads[key] = load_alone(self.topology, plan, self._nodes)
            self._changes[key] = change_alone(self.topology, plan, self._nodes)
        load, change = self._loads[key], self._changes[key]
        return TimedMove(planned, load if move[0] else self._cleared(planned.plan, load), change)

    def _cleared(self, plan: GridPlan, load: Stretch) -> Stretch:
        """A load after the grid was cleared."""
        grid = plan.glyph.grid
        if grid not in self._clears:
            self._clears[grid] = clear_pulses(self.topology.machine, grid)
        clear = self._clears[grid]
        return Stretch(
            in_order([*clear.pulses, *(pulse.later(clear.quiet_us) for pulse in load.pulses)]),
            clear.quiet_us + load.reached_us,
            clear.quiet_us + load.bound_us,
            clear.quiet_us + load.quiet_us,
        )

    def _wait_us(self, moves: Mapping[Move, TimedMove]) -> int:
        """From the start of a change to that of a load which may come in the same tick."""
        into: defaultdict[str, dict[object, TimedMove]] = defaultdict(dict)
        out_of: defaultdict[str, dict[object, TimedMove]] = defaultdict(dict)
        for (before, after), move in moves.items():
            key = self._actions.of(_alone(move.planned.plan))
            into[after].setdefault(key, move)
            if before is not None:
                out_of[before].setdefault(key, move)
        pairs = (p for glyph in into for p in product(into[glyph].values(), out_of[glyph].values()))
        return max((self._apart_us(change, load) for change, load in pairs), default=0)

    def _apart_us(self, changed: TimedMove, loaded: TimedMove) -> int:
        """From the start of a change to that of a load after it, by each wait of section 4."""
        pulses = [pulse.actuator.drive for pulse in (*changed.change.pulses, *loaded.load.pulses)]
        if any(rules_of(drive).channel(drive) is not None for drive in pulses):
            return changed.change.quiet_us
        builder = Builder(self.topology)
        builder.change(_alone(changed.planned.plan))
        first = len(builder.tasks)
        builder.load(_alone(loaded.planned.plan))
        starts = _starts(builder, range(first), changed.change.pulses)
        starts |= _starts(builder, range(first, len(builder.tasks)), loaded.load.pulses)
        waits = (
            starts[arc.before] + arc.lag_us - starts[arc.after]
            for arc in builder.arcs
            if arc.before < first <= arc.after and {arc.before, arc.after} <= starts.keys()
        )
        return max(waits, default=0)


def _alone(plan: GridPlan) -> FramePlan:
    return FramePlan(Frame((plan.glyph,)), (plan,))


def _starts(builder: Builder, tasks: Iterable[int], pulses: Iterable[Pulse]) -> dict[int, int]:
    """When the tasks start that became these pulses, those of one actuator in their order."""
    by_actuator: dict[int, list[int]] = {}
    for pulse in pulses:
        by_actuator.setdefault(pulse.actuator.index, []).append(pulse.start_us)
    turns = {index: iter(starts) for index, starts in by_actuator.items()}
    return {
        task: next(turns[builder.pulses[task][0].index]) for task in tasks if task in builder.pulses
    }
