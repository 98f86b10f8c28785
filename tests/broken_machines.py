"""Machines with something broken, run one by one, and what is seen of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from random import Random

import seqc
from seqc.examples import example_files
from seqc.faults import Fault, Look
from seqc.machine.findings import Findings
from seqc.machine.model import Machine
from seqc.machine.parts import Position
from seqc.machine.steptable import TableSet
from seqc.simulator import SOUND, Simulator

Pictures = dict[str, Look]


def seen_of(
    machine: Machine, tables: TableSet, faults: Sequence[Fault], before: Mapping[str, Look]
) -> list[Pictures]:
    """What is seen after each table, from power-on with every part at rest."""

    def defects(table: int | None) -> object:
        joined = SOUND
        for fault in faults:
            if fault.table in (None, table):
                joined = joined.joined(fault.defects)
        return joined

    simulator = Simulator(machine, stock=False)
    simulator.put(before, Position.REST)
    simulator.switch(defects(None))  # type: ignore[arg-type]
    for table in (tables.home, *([tables.clear] if tables.clear else [])):
        simulator.run(table)
    simulator.rest()
    seen = []
    for number, table in enumerate(tables.tables):
        simulator.switch(defects(number))  # type: ignore[arg-type]
        simulator.run(table)
        simulator.rest()
        seen.append(dict(simulator.pictures))
    return seen


def empty(machine: Machine) -> Pictures:
    """Nothing in any cell, as in a machine that was just built."""
    return {grid.name: (None,) * len(grid.cells) for grid in machine.grids}


def full(machine: Machine, random: Random) -> Pictures:
    """Any items in all cells."""
    return {
        lane.grid.name: tuple(random.choice(lane.items).name for _ in lane.grid.cells)
        for lane in machine.lanes
    }


def example(name: str, folder: Path) -> Machine:
    """An example machine, its files written into a folder."""
    texts = example_files(name)
    for file, text in texts.items():
        (folder / file).write_text(text)
    return seqc.read(folder / next(iter(texts)), Findings())
