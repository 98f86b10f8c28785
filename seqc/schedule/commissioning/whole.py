"""The whole set of commissioning tables of a machine."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from seqc.machine.effort import Effort
from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet, TablesFor
from seqc.schedule.commissioning.cadences import Cadences
from seqc.schedule.commissioning.named import Commissioning, Named, Step, without_clashes
from seqc.schedule.commissioning.parts import actuator_tables, lane_tables, park_table
from seqc.schedule.commissioning.pictures import Pictures
from seqc.schedule.commissioning.stretches import Stretches
from seqc.schedule.commissioning.tuning import Tuning
from seqc.schedule.home import clear_pulses, home_pulses


def commissioning(
    machine: Machine, test_frames: Sequence[tuple[str, Glyph]], effort: Effort
) -> Commissioning:
    """Every table, grid by grid and step by step; `test_frames` are shown under their names."""
    make = Stretches(machine, effort.schedule_nodes)
    shown, cadences = Pictures(machine, make, effort), Cadences(machine, effort)
    tuning = Tuning(machine, _of_one_kind(machine, shown))
    named = [
        *_of_grids(machine, make, shown, test_frames),
        *cadences.tables(),
        *tuning.tables(),
        park_table(machine, make),
    ]
    left_out = (*shown.left_out, *cadences.left_out, *tuning.left_out)
    return Commissioning(machine, frame_of(machine), without_clashes(named), left_out)


def _of_one_kind(machine: Machine, shown: Pictures) -> list[tuple[str, Glyph]]:
    return [one for grid in machine.grids for one in shown.of_one_kind(grid.name)]


def _of_grids(
    machine: Machine,
    make: Stretches,
    shown: Pictures,
    test_frames: Sequence[tuple[str, Glyph]],
) -> Iterator[Named]:
    for grid in machine.grids:
        tests = [(name, glyph) for name, glyph in test_frames if glyph.grid == grid.name]
        yield from _of_grid(machine, grid.name, make, shown, tests)


def _of_grid(
    machine: Machine,
    grid: str,
    make: Stretches,
    shown: Pictures,
    tests: Sequence[tuple[str, Glyph]],
) -> Iterator[Named]:
    yield from actuator_tables(machine, make, grid)
    yield from lane_tables(machine, make, grid)
    whole = list(shown.tables(Step.KINDS, grid, shown.of_one_kind(grid)))
    yield from whole
    yield from shown.tables(Step.TESTS, grid, tests)
    yield from shown.tables(Step.GLYPHS, grid, shown.of_fonts(grid))
    yield from shown.draining(whole)


def frame_of(machine: Machine) -> TableSet:
    """What the tables share: home and the clear table, each with the rest that coils need."""
    make = Stretches(machine, 0)
    clear = clear_pulses(machine).pulses
    return TableSet(
        machine.name,
        TablesFor.COMMISSIONING,
        machine.width,
        machine.idle_word,
        0,
        make.table("home", home_pulses(machine).pulses),
        (),
        clear=make.table("clear", clear) if clear else None,
    )
