"""Tables of commissioning in the simulator, each on the machine that it is for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from functools import reduce

from seqc.machine.model import Machine
from seqc.machine.progress import counted
from seqc.machine.steptable import TableSet
from seqc.schedule.commissioning import Commissioning, frame_of
from seqc.simulator import Glyphs, Replay, check, check_bounds
from seqc.simulator.trial import misfits, trial


def replayed(made: Commissioning, table_set: TableSet, stock: bool = False) -> Replay:
    """Every table from home, on nominal parts; each must leave a machine that is at home."""
    glyphs = glyphs_of(made)
    results = []
    for machine, own in each_machine(made, table_set):
        trials = counted("replaying tables", list(trial(own)))
        result = check(machine, trials, glyphs, stock=stock, homing=True)
        results.append(replace(result, faults=(*misfits(machine, own), *result.faults)))
    return reduce(_both, results)


def replayed_bounds(made: Commissioning, table_set: TableSet) -> Replay:
    """The same with each event between its earliest and its latest time."""
    glyphs = glyphs_of(made)
    results = [
        check_bounds(machine, trial(own), glyphs, homing=True)
        for machine, own in each_machine(made, table_set)
    ]
    return reduce(_both, results)


def glyphs_of(made: Commissioning) -> Glyphs:
    """The pictures that its tables end with, by grid and name."""
    return {(glyph.grid, glyph.name): glyph.kinds for one in made.named for glyph in one.shows}


def each_machine(made: Commissioning, table_set: TableSet) -> Iterator[tuple[Machine, TableSet]]:
    """The declared machine and each with a value of tuning, with the tables that are for it.

    A machine that isn't the declared one comes home and is cleared as one of its kind does.
    """
    machine_of = {one.name: one.machine for one in made.named}
    for machine in made.machines:
        tables = (t for t in table_set.tables if machine_of.get(t.name, made.machine) is machine)
        before = table_set if machine is made.machine else frame_of(machine)
        own = replace(table_set, tables=tuple(tables), home=before.home, clear=before.clear)
        yield machine, own


def _both(one: Replay, other: Replay) -> Replay:
    """Two replays taken together, the other after the one."""
    end_us = one.seen[-1].end_us if one.seen else 0
    faults = (replace(fault, at_us=fault.at_us + end_us) for fault in other.faults)
    seen = (
        replace(each, start_us=each.start_us + end_us, end_us=each.end_us + end_us)
        for each in other.seen
    )
    return replace(
        one,
        faults=(*one.faults, *faults),
        seen=(*one.seen, *seen),
        pulses=Counter(one.pulses) + Counter(other.pulses),
        closings=Counter(one.closings) + Counter(other.closings),
        taken=Counter(one.taken) + Counter(other.taken),
        unchecked=(*one.unchecked, *other.unchecked),
        cut_short=one.cut_short or other.cut_short,
    )
