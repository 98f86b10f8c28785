"""Random cases for the solver's tests, and the solver's answers in the terms of the references."""

from __future__ import annotations

from random import Random

from reference.brute import Load, Setting, selectors_of

from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Position
from seqc.machine.wiring import Actuator
from seqc.solver.plan import GridPlan
from seqc.solver.positions import Positions


def load_of(machine: Machine, glyph: Glyph, groups: tuple[Actuator, ...] | None = None) -> Load:
    lane = machine.lanes[0]
    every = machine.actuators_of(lane.metering, lane.grid)
    return Load(machine, glyph, every if groups is None else groups)


def positions_of(machine: Machine, setting: Setting) -> Positions:
    known = thrown = 0
    for actuator, at in zip(selectors_of(machine), setting, strict=True):
        known |= (at is not None) << actuator.index
        thrown |= (at is True) << actuator.index
    return Positions(known, thrown)


def setting_of(machine: Machine, positions: Positions) -> Setting:
    values = {None: None, Position.REST: False, Position.THROWN: True}
    return tuple(values[positions.of(actuator.index)] for actuator in selectors_of(machine))


def random_setting(random: Random, machine: Machine, known: float = 1.0) -> Setting:
    return tuple(
        random.random() < 0.5 if random.random() < known else None for _ in selectors_of(machine)
    )


def frame(glyph: Glyph) -> Frame:
    return Frame((glyph,))


def replayed(plan: GridPlan, load: Load) -> Setting:
    """Carry the plan out; the setting at its end. Every group is loaded once, and rightly."""
    machine = load.machine
    setting = list(setting_of(machine, plan.start))
    number_of = load.number_of
    left = list(load.groups)
    for step in plan.passes:
        for actuator, position in step.set:
            setting[number_of[actuator.index]] = position is Position.THROWN
        assert step.operate
        for group in step.operate:
            assert load.loads(group, tuple(setting))
            left.remove(group)
    assert not left
    return tuple(setting)
