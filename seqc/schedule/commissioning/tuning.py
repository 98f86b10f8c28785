"""Tables for tuning: pulse lengths, open and refill times, stepped around what is declared.

Each is built for the machine that has the value in place of the declared one, and proven on it. It
shows frames of one kind in turn, each as quickly as that machine can; the last is to be judged.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby

from seqc.machine.effort import Effort
from seqc.machine.electrics import Coil
from seqc.machine.findings import ShortfallError
from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Gate
from seqc.machine.progress import counted
from seqc.machine.variants import with_coil, with_gate
from seqc.schedule.commissioning.named import Named, Step, Trait
from seqc.schedule.commissioning.stretches import Stretches
from seqc.solver.frames import plan_frame
from seqc.solver.plan import FramePlan
from seqc.solver.positions import home

SCALES = (0.6, 0.7, 0.8, 0.9, 1.0, 1.15, 1.3)
"""The steps, over what is declared."""

LEAST_SLACK_US = 5_000
"""No pulse is stepped nearer to the longest that its coil bears: a controller may be late."""

FRAMES = 3
ROUGH = Effort("rough", 2_000, 0, 0, 0, 0)
"""A schedule that isn't the best steps a value as well, and there are many."""

MILLISECOND = 1_000


class Tuning:
    """Makes the tables for tuning; `left_out` names the settings on which none depends."""

    def __init__(self, machine: Machine, pictures: Sequence[tuple[str, Glyph]]) -> None:
        self.machine = machine
        self.left_out: list[str] = []
        self._glyphs = [glyph for _, glyph in pictures]

    def tables(self) -> Iterator[Named]:
        """A table for each value of each setting that makes any difference."""
        rows = groupby(_traits(self.machine), key=lambda row: row[0].subject)
        steps = [(subject, list(row)) for subject, row in rows]
        for subject, row in counted("making tuning", steps):
            named = [one for values in row if (one := self._named(*values))]
            if len({one.table.steps for one in named}) > 1:
                yield from named
            elif len(row) > 1:
                self.left_out.append(f"tuning of {subject}: no table depends on it")

    def _named(self, trait: Trait, variant: Machine, grid: str) -> Named | None:
        """The table of one value; None where no schedule of it can be played."""
        try:
            return self._made(trait, variant, grid)
        except ShortfallError:
            return None

    def _made(self, trait: Trait, variant: Machine, grid: str) -> Named:
        own = [glyph for glyph in self._glyphs if glyph.grid == grid]
        shown = [own[0 if number % 2 else -1] for number in range(FRAMES)]
        make = Stretches(variant, ROUGH.schedule_nodes)
        pulses = make.in_a_row([make.frame(self._plan(variant, glyph)) for glyph in shown])
        table = make.table(f"{trait.subject} {trait.value_us / MILLISECOND:.10g} ms", pulses)
        return Named(Step.TUNING, grid, table, variant, (shown[-1],), trait)

    @staticmethod
    def _plan(variant: Machine, glyph: Glyph) -> FramePlan:
        start = home(len(variant.actuators))
        return plan_frame(variant, Frame((glyph,)), start, effort=ROUGH)


def _traits(machine: Machine) -> Iterator[tuple[Trait, Machine, str]]:
    """Each value with the machine that has it, and the first grid on which it tells."""
    coils = {actuator.coil.name: actuator.coil for actuator in machine.actuators}
    for coil in coils.values():
        users = [a for a in machine.actuators if a.coil.name == coil.name]
        for value in _pulses(coil):
            trait = Trait("coil", coil.name, "pulse", value)
            variant = with_coil(machine, replace(coil, pulse_us=value))
            yield trait, machine if value == coil.pulse_us else variant, users[0].grid.name
    for gate in machine.gates:
        users = [a for a in machine.actuators if a.part.name == gate.name]
        for setting in ("open", "refill"):
            declared = _of(gate, setting)
            for value in _around(declared, 0, None):
                trait = Trait("gate", gate.name, setting, value)
                variant = with_gate(machine, _with(gate, setting, value))
                yield trait, machine if value == declared else variant, users[0].grid.name


def _of(gate: Gate, setting: str) -> int:
    return gate.open_us if setting == "open" else gate.refill_us


def _with(gate: Gate, setting: str, value_us: int) -> Gate:
    if setting == "open":
        return replace(gate, open_us=value_us)
    return replace(gate, refill_us=value_us)


def _pulses(coil: Coil) -> list[int]:
    """Never shorter than the part travels at its slowest, never near the longest that it bears."""
    most = max(coil.longest_us - LEAST_SLACK_US, coil.pulse_us)
    return _around(coil.pulse_us, min(coil.travel.most_us, coil.pulse_us), most)


def _around(declared_us: int, least_us: int, most_us: int | None) -> list[int]:
    """The steps in whole milliseconds, but the declared value as it is; none around 0."""
    steps = (
        declared_us if scale == 1 else round(declared_us * scale / MILLISECOND) * MILLISECOND
        for scale in SCALES
    )
    kept = (v for v in steps if v > 0 and v >= least_us and (most_us is None or v <= most_us))
    return sorted(set(kept)) if declared_us else []
