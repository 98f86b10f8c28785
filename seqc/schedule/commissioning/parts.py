"""Tables of single parts: each actuator to each side, one item down each lane, every part home."""

from __future__ import annotations

from collections.abc import Iterator

from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Gate, Lane
from seqc.machine.wiring import Actuator
from seqc.schedule.commissioning.named import Named, Step, is_metering
from seqc.schedule.commissioning.stretches import Stretches
from seqc.schedule.home import home_pulses
from seqc.solver.needs import MeteringGroup, needs_of
from seqc.solver.one_kind import Turn, offered, turns
from seqc.solver.plan import FramePlan, GridPlan, Pass
from seqc.solver.positions import Positions, bits, home

Stages = tuple[tuple[Actuator, ...], ...]


def actuator_tables(machine: Machine, make: Stretches, grid: str) -> Iterator[Named]:
    """For each actuator a pulse to thrown and one to rest; what a gate lets go is passed on."""
    for actuator in machine.actuators:
        if actuator.grid.name != grid:
            continue
        if not actuator.is_gate:
            pulses = make.thrown_and_back(actuator)
        elif is_metering(machine, actuator.index):
            pulses = make.frame(_let_go(machine, _at_home(machine, actuator)))
        else:
            pulses = make.cycled(actuator)
        table = make.table(f"move {actuator.name}", pulses)
        yield Named(Step.ACTUATORS, grid, table, machine, actuator=actuator.index)


def lane_tables(machine: Machine, make: Stretches, grid: str) -> Iterator[Named]:
    """For each group of the metering gate and each kind, one item of it down each lane."""
    needs = needs_of(machine, grid)
    for group in needs.groups:
        for item in needs.lane.items:
            for turn in turns(needs, group, item.name):
                name = f"{item.name} down {group.actuator.name}"
                table = make.table(name, make.frame(_let_go(machine, turn)))
                yield Named(Step.LANES, grid, table, machine)


def park_table(machine: Machine, make: Stretches) -> Named:
    """Every part driven to rest once more, gates first: then the power may go."""
    table = make.table("park", home_pulses(machine).pulses)
    return Named(Step.PARKING, "", table, machine)


def _at_home(machine: Machine, gate: Actuator) -> Turn:
    needs = needs_of(machine, gate.grid.name)
    index_of = gate.grid.index_of
    group = MeteringGroup(gate, tuple(index_of[cell] for cell in gate.cells))
    kinds = tuple(offered(needs, cell, Positions()) for cell in group.cells)
    return Turn(group, Positions(), kinds)


def _let_go(machine: Machine, turn: Turn) -> FramePlan:
    """One group of a metering gate cycled, and what it lets go passed on until it is seen."""
    gate = turn.group.actuator
    lane, actuators = machine.lane_of(gate.grid.name), machine.actuators
    start = home(len(actuators))
    moved = bits(start.missing(turn.positions))
    settings = tuple((actuators[i], found) for i in moved if (found := turn.positions.of(i)))
    glyph = Glyph("", "", gate.grid.name, ())
    passes = (Pass(settings, (gate,)),)
    dumps, transfers = (_stages(machine, lane, gate, g) for g in (lane.dumps, lane.transfers))
    end = start.then(turn.positions)
    plan = GridPlan(glyph, passes, dumps, transfers, start, end, 1, 0)
    return FramePlan(Frame((glyph,)), (plan,))


def _stages(machine: Machine, lane: Lane, above: Actuator, gates: tuple[Gate, ...]) -> Stages:
    """Of each of several gates the actuators that what falls from another one meets."""
    met = (
        tuple(a for a in machine.actuators_of(gate, lane.grid) if a.cell_set & above.cell_set)
        for gate in gates
    )
    return tuple(stage for stage in met if stage)
