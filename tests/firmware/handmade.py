"""Machines and step tables made by hand, so that no scheduler is needed."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace

from boards import CARD, GRID, SMALL, grid_of

from seqc.machine.electrics import Bus, Drive, DriveKind, Supply
from seqc.machine.model import Machine
from seqc.machine.parts import Selector
from seqc.machine.steptable import Step, StepTable, TableSet, TablesFor
from seqc.machine.wiring import Actuator

SLACK_US = 20_000


def machine_of(
    *bits: int, low: bool = False, name: str = "bench", longest_us: int = 20_000_000
) -> Machine:
    """A machine of buses with so many bits; outputs 0 and 1 are one coil's, and so on.

    Its coils bear random tables, unless they are told to bear less.
    """
    coil = replace(SMALL, longest_us=longest_us, recover_us=0)
    buses = []
    first = 0
    for rank, count in enumerate(bits):
        buses.append(Bus(f"bus{rank}", count, first, rank == 0, low))
        first += count
    supply = Supply("bench", 12_000, 8_000_000)
    drive = Drive(DriveKind.CHANGEOVER_PAIR, ("pick",), supply, CARD)
    grid = grid_of(1, 1)
    actuators = tuple(
        Actuator(
            index,
            f"pick{index}",
            Selector(f"pick{index}", GRID, coil),
            grid,
            grid.cells,
            drive,
            (2 * index, 2 * index + 1),
        )
        for index in range(first // 2)
    )
    return Machine(name, (), (), (), (), actuators, tuple(buses), (supply,))


def table(machine: Machine, name: str, pulses: Sequence[int], **fields: object) -> StepTable:
    """A table that makes each output of `pulses` active in turn for 40 ms, with 10 ms between."""
    idle = machine.idle_word
    steps = [Step(0, idle)]
    at_us = 5_000
    for output in pulses:
        steps += [Step(at_us, idle ^ 1 << output), Step(at_us + 40_000, idle)]
        at_us += 50_000
    made = StepTable(name, tuple(steps), at_us + 30_000)
    return replace(made, **fields)  # type: ignore[arg-type]


def random_table(machine: Machine, name: str, seed: int, steps: int = 12) -> StepTable:
    """A table of words in which no coil has both polarities, at irregular times."""
    chance = random.Random(seed)
    at_us = 0
    made = []
    for _ in range(steps):
        active = 0
        for pair in range(0, machine.width - 1, 2):
            active |= chance.choice((0, 0, 1, 2)) << pair
        if machine.width % 2:
            active |= chance.choice((0, 1)) << machine.width - 1
        made.append(Step(at_us, machine.idle_word ^ active))
        at_us += chance.randint(1, 300_000)
    made.append(Step(at_us, machine.idle_word))
    return StepTable(name, tuple(made), at_us + chance.randint(0, 100_000))


def frame(glyph: str, grid: str = "numeral") -> tuple[tuple[str, str], ...]:
    """A frame of one glyph."""
    return ((grid, glyph),)


def table_set(
    machine: Machine,
    tables_for: TablesFor = TablesFor.GLYPH,
    glyphs: Sequence[str] = ("0", "1", "2"),
) -> TableSet:
    """A table set with a table for each glyph, or for each step from one glyph to the next."""
    tables = [
        replace(random_table(machine, f"show {glyph}", rank + 1), shows=frame(glyph))
        for rank, glyph in enumerate(glyphs)
    ]
    if tables_for is not TablesFor.GLYPH:
        tables = [
            replace(table, after=frame(glyphs[rank - 1]) if rank else ())
            for rank, table in enumerate(tables)
        ]
    return TableSet(
        machine.name,
        tables_for,
        machine.width,
        machine.idle_word,
        SLACK_US,
        random_table(machine, "home", 99),
        tuple(tables),
        repeat_from=1 if tables_for is TablesFor.PROGRAMME and len(glyphs) > 1 else None,
    )
