"""The plan of a programme by tracks: each kind of grid by itself, its copies after it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial, reduce

from seqc.machine.effort import Effort
from seqc.machine.glyphs import Glyph, Programme
from seqc.machine.model import Machine
from seqc.schedule.clock import ScheduleClock
from seqc.schedule.tracks.kinds import Copy, Kind, Translation, kinds_of
from seqc.schedule.tracks.rounds import Round, Row
from seqc.solver.cost import NOTHING, Cost
from seqc.solver.objective import Objective
from seqc.solver.plan import FramePlan, GridPlan, ProgrammePlan
from seqc.solver.rotations import Move, PlannedMove, plan_moves


@dataclass(frozen=True)
class PlannedKind:
    """A kind of grid and the plans of its moves, those from a glyph to itself included."""

    kind: Kind
    moves: Mapping[Move, PlannedMove]


@dataclass(frozen=True)
class TracksPlan:
    """A programme by tracks before it is put into time.

    `copies` are all grids of the machine in order, and the number of their kind; `round` says what
    they do tick by tick, `plan` is the same frame by frame.
    """

    programme: Programme
    kinds: tuple[PlannedKind, ...]
    copies: tuple[tuple[Copy, int], ...]
    round: Round
    plan: ProgrammePlan


def plan_tracks(
    machine: Machine, programme: Programme, objective: Objective, effort: Effort
) -> TracksPlan:
    """The moves of every kind of grid, and the frames that come of them.

    Raises OutOfReachError where a glyph can't be shown.
    """
    clock = ScheduleClock(machine)
    kinds = []
    for kind in kinds_of(machine, programme):
        moves = [*kind.moves, *((name, name) for name in kind.pictures)]
        planned = plan_moves(machine, kind.pictures, moves, clock, objective, effort)
        kinds.append(PlannedKind(kind, planned))
    names = [grid.name for grid in machine.grids]
    copies = [(copy, number) for number, one in enumerate(kinds) for copy in one.kind.copies]
    copies.sort(key=lambda pair: names.index(pair[0].grid))
    round_ = Round(programme, [copy for copy, _ in copies])
    frames = _Frames(kinds, copies, round_)
    plan = frames.plan(programme, objective)
    return TracksPlan(programme, tuple(kinds), tuple(copies), round_, plan)


class _Frames:
    """The frames of a round, made of the plans of each grid."""

    def __init__(
        self,
        kinds: Sequence[PlannedKind],
        copies: Sequence[tuple[Copy, int]],
        round_: Round,
    ) -> None:
        self.kinds, self.copies, self.round = kinds, copies, round_
        self.plans = [self._plans_of(copy, kinds[number]) for copy, number in copies]

    def _plans_of(self, copy: Copy, kind: PlannedKind) -> dict[Move, GridPlan]:
        """The plans of a grid by its moves, in its own actuators and glyphs."""
        own: dict[str, Glyph] = {g.name: g for g in copy.rotation.glyphs} if copy.rotation else {}
        said = Translation(kind.kind.copies[0], copy)
        return {
            move: said.plan(planned.plan, own[move[1]])
            for move, planned in kind.moves.items()
            if move in copy.moves or (move[0] == move[1] and move[1] in own)
        }

    def plan(self, programme: Programme, objective: Objective) -> ProgrammePlan:
        """The whole of it."""
        columns = [
            self.round.column(number, partial(_plan_of, plans))
            for number, plans in enumerate(self.plans)
            if plans
        ]
        first, *later = zip(*columns, strict=True)
        frames = programme.frames
        start = FramePlan(frames[0], tuple(self._first_plans()))
        rest = (FramePlan(*each) for each in zip(frames[1:], later, strict=True))
        again = FramePlan(frames[0], first)
        return ProgrammePlan((start, *rest), again, self._lower_bound(), objective)

    def _first_plans(self) -> Iterator[GridPlan]:
        """The plans of the first frame from home."""
        for plans, move in zip(self.plans, self.round.firsts, strict=True):
            if move is not None:
                yield plans[move]

    def _lower_bound(self) -> Cost:
        """What a round costs at least, whatever the ends of its moves."""
        rows: Counter[Row] = Counter(self.round.changes)
        costs = (
            self.kinds[number].moves[move].lower_bound.times(times)
            for row, times in rows.items()
            for (_, number), move in zip(self.copies, row, strict=True)
            if move is not None
        )
        return reduce(Cost.also, costs, NOTHING)


def _plan_of(plans: Mapping[Move, GridPlan], move: Move | None, shown: str) -> GridPlan:
    """The plan of a move, or of a glyph that stays."""
    return plans[move or (shown, shown)]
