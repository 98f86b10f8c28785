"""A small left-to-right planner, so that the scheduler's tests need no solver."""

from __future__ import annotations

from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Branch, Feed, Lane, Position
from seqc.machine.wiring import Actuator
from seqc.solver.plan import FramePlan, GridPlan, Pass
from seqc.solver.positions import Positions, home


class UnreachableError(Exception):
    """A group needs one selector in both positions."""


def left_to_right(
    machine: Machine, glyphs: list[Glyph], start: Positions | None = None
) -> FramePlan:
    """One pass for each metering group, in the order of the actuators; equal needs share one."""
    positions = start or home(len(machine.actuators))
    plans = []
    for glyph in glyphs:
        plan = _plan_grid(machine, glyph, positions)
        positions = plan.end
        plans.append(plan)
    return FramePlan(Frame(tuple(glyphs)), tuple(plans))


def _plan_grid(machine: Machine, glyph: Glyph, start: Positions) -> GridPlan:
    lane = machine.lane_of(glyph.grid)
    groups: dict[tuple[tuple[int, Position], ...], list[Actuator]] = {}
    for gate in machine.actuators_of(lane.metering, lane.grid):
        need = _need(machine, lane, glyph, gate)
        groups.setdefault(tuple(sorted(need.items())), []).append(gate)
    positions = start
    passes = []
    for need_items, gates in groups.items():
        step = tuple(
            (machine.actuators[index], position)
            for index, position in need_items
            if positions.of(index) is not position
        )
        for actuator, position in step:
            bit = 1 << actuator.index
            thrown = bit if position is Position.THROWN else 0
            positions = positions.then(Positions(bit, thrown))
        passes.append(Pass(step, tuple(gates)))
    dumps = tuple(machine.actuators_of(gate, lane.grid) for gate in reversed(lane.dumps))
    transfers = tuple(machine.actuators_of(gate, lane.grid) for gate in lane.transfers)
    return GridPlan(glyph, tuple(passes), dumps, transfers, start, positions, 0, 0)


def _need(machine: Machine, lane: Lane, glyph: Glyph, gate: Actuator) -> dict[int, Position]:
    need: dict[int, Position] = {}
    for cell in gate.cells:
        kind = glyph.kinds[lane.grid.index_of[cell]]
        for selector, position in _route(lane.feed, kind):
            index = machine.actuator_of(selector.selector, lane.grid, cell).index
            if need.setdefault(index, position) is not position:
                raise UnreachableError(str(gate))
    return need


def _route(feed: Feed, kind: str) -> list[tuple[Branch, Position]]:
    waiting: list[tuple[Feed, list[tuple[Branch, Position]]]] = [(feed, [])]
    while waiting:
        node, way = waiting.pop()
        if not isinstance(node, Branch):
            if node.name == kind:
                return way
            continue
        waiting.append((node.rest, [*way, (node, Position.REST)]))
        waiting.append((node.thrown, [*way, (node, Position.THROWN)]))
    raise UnreachableError(kind)
