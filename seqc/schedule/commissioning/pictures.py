"""Tables that show a picture: frames of one kind, test frames, glyphs; and those that drain."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from seqc.machine.effort import Effort
from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.machine.progress import counted
from seqc.machine.steptable import Step as TableStep
from seqc.machine.steptable import StepTable
from seqc.schedule.clock import ScheduleClock
from seqc.schedule.commissioning.named import Named, Step
from seqc.schedule.commissioning.stretches import Stretches
from seqc.solver.frames import plan_frame
from seqc.solver.needs import OutOfReachError, needs_of
from seqc.solver.one_kind import pictures
from seqc.solver.positions import home

DRAINED = 5
"""So many items of a kind leave each lane each time that a table of draining is played."""


class Pictures:
    """Makes tables that show pictures of a machine; `left_out` names those out of reach."""

    def __init__(self, machine: Machine, make: Stretches, effort: Effort) -> None:
        self.machine = machine
        self.left_out: list[str] = []
        self._make = make
        self._effort = effort
        self._clock = ScheduleClock(machine)

    def tables(self, step: Step, grid: str, named: Sequence[tuple[str, Glyph]]) -> Iterator[Named]:
        """A table for each picture of a grid that can be shown."""
        for name, glyph in counted(f"making {step}", named):
            table = self._table(name, glyph)
            if table:
                yield Named(step, grid, table, self.machine, (glyph,))

    def of_one_kind(self, grid: str) -> tuple[tuple[str, Glyph], ...]:
        """The pictures in which as many lanes as can be show one kind, by name."""
        needs = needs_of(self.machine, grid)
        return tuple(
            (self._on(grid, f"all {glyph.name}"), glyph)
            for item in needs.lane.items
            for glyph in pictures(needs, item.name)
        )

    def of_fonts(self, grid: str) -> tuple[tuple[str, Glyph], ...]:
        """The glyphs of a grid's fonts, by name."""
        fonts = [font for font in self.machine.fonts if font.grid.name == grid]
        several = len(fonts) > 1
        return tuple(
            (self._on(grid, f"show {font.name + ' ' if several else ''}{glyph.name}"), glyph)
            for font in fonts
            for glyph in font.glyphs
        )

    def draining(self, whole: Iterable[Named]) -> Iterator[Named]:
        """Frames of one kind again and again, so that their magazines empty."""
        for one in whole:
            table = replace(_again(one.table, DRAINED), name=one.name.replace("all ", "drain ", 1))
            yield replace(one, step=Step.DRAINING, table=table)

    def _on(self, grid: str, name: str) -> str:
        return name if len(self.machine.grids) == 1 else f"{name} on {grid}"

    def _table(self, name: str, glyph: Glyph) -> StepTable | None:
        start = home(len(self.machine.actuators))
        try:
            plan = plan_frame(
                self.machine, Frame((glyph,)), start, clock=self._clock, effort=self._effort
            )
        except OutOfReachError:
            self.left_out.append(f"{name}: it is out of reach, as `seqc check` tells")
            return None
        return self._make.table(name, self._make.frame(plan))


def _again(table: StepTable, times: int) -> StepTable:
    """A table several times in a row."""
    runs = range(0, times * table.length_us, table.length_us)
    steps = (TableStep(start + step.at_us, step.word) for start in runs for step in table.steps)
    return replace(table, steps=tuple(steps), length_us=times * table.length_us)
