"""Short tables of numerals, and edges held against them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from firmware.handmade import frame, machine_of, table, table_set
from firmware.host import Edge, changes, edges_of, target
from seqc.machine.model import Machine
from seqc.machine.steptable import StepTable, TableSet, TablesFor

WITHIN_US = 20
AVR = target("avr")
CHAIN = machine_of(24, low=True, longest_us=56_000)
"""Relays operate in 10 ms and release in 6: 60 ms of an output are 56 of its coil."""
CADENCE_US = 300_000


def pins_machine(*bits: int, low: bool = True) -> Machine:
    """A machine whose outputs are pins of the controller."""
    machine = machine_of(*bits, low=low)
    buses = tuple(replace(bus, shift_register=False) for bus in machine.buses)
    return replace(machine, buses=buses)


def numerals(machine: Machine, count: int = 10, clear: bool = False) -> TableSet:
    """Short tables for numerals, each of two pulses."""
    width = machine.width
    tables = tuple(
        table(machine, f"show {n}", [n % width, (3 * n + 5) % width], shows=frame(str(n)))
        for n in range(count)
    )
    home = table(machine, "home", [1, width - 1])
    extra = table(machine, "clear", [2]) if clear else None
    return replace(table_set(machine), home=home, tables=tables, clear=extra)


def programme(machine: Machine) -> TableSet:
    """The numerals as a programme that repeats."""
    made = numerals(machine, 5)
    tables = tuple(replace(one, length_us=CADENCE_US) for one in made.tables)
    return replace(made, tables_for=TablesFor.PROGRAMME, tables=tables, repeat_from=0)


def assert_same_edges(found: Sequence[tuple[float, int]], planned: Sequence[Edge]) -> None:
    """The words are equal and their times, counted from the first edge, differ by 20 us at most."""
    assert [word for _, word in found] == [word for _, word in planned]
    offset = found[0][0] - planned[0][0]
    assert max(
        abs(at - offset - due) for (at, _), (due, _) in zip(found, planned, strict=True)
    ) <= (WITHIN_US)


def planned(tables: Sequence[StepTable], idle: int) -> list[Edge]:
    """The edges of tables that follow one another."""
    edges: list[Edge] = [(-1, idle)]
    start = 0
    for one in tables:
        edges += edges_of(one, start)
        start += one.length_us
    return changes(edges)[1:]
