"""Why a fault isn't revealed: what it changes while the picture changes, or nothing at all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import StrEnum
from typing import NamedTuple

from seqc.faults.fault import Fault, Spot
from seqc.faults.trials import Bench, batches, home_of
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet
from seqc.simulator import SOUND, Defects


class Why(StrEnum):
    """Why no frame reveals a fault."""

    SOONER_OR_LATER = "sooner-or-later"
    UNSEEN = "unseen"


class Hidden(NamedTuple):
    """A fault that frames don't reveal, and why.

    SOONER_OR_LATER: the same items come to the place that is seen, at other times. UNSEEN: what is
    seen is the same at every moment.
    """

    fault: Fault
    why: Why


def why_hidden(machine: Machine, faults: Sequence[Fault], tables: TableSet) -> tuple[Hidden, ...]:
    """Why tables, played one after the other, don't reveal faults."""
    bench = Bench(machine, home_of(tables), logs=True)
    spot_of = {
        f"the place that is seen, {cell} of {grid.name}": (grid.name, number)
        for grid in machine.grids
        for number, cell in enumerate(grid.cells)
    }
    sound = _changes(bench, SOUND, tables, spot_of)
    found: dict[int, Why] = {}
    for batch in batches([(fault,) for fault in faults]):
        changes = _changes(bench, batch.at(-1), tables, spot_of)
        for number in batch.numbers:
            spots = faults[number].footprint
            same = all(changes.get(spot) == sound.get(spot) for spot in spots)
            found[number] = Why.UNSEEN if same else Why.SOONER_OR_LATER
    return tuple(Hidden(fault, found[number]) for number, fault in enumerate(faults))


def _changes(
    bench: Bench, defects: Defects, tables: TableSet, spot_of: Mapping[str, Spot]
) -> dict[Spot, list[tuple[int, int, str]]]:
    """In which table and when into it each cell changes what it shows, and to what."""
    bench.started(defects)
    found: dict[Spot, list[tuple[int, int, str]]] = {}
    for number, table in enumerate(tables.tables):
        seen = bench.simulator.run(table)
        bench.simulator.rest()
        for event in seen.events:
            if event.what == "item" and event.name in spot_of:
                change = number, event.at_us - seen.start_us, event.state
                found.setdefault(spot_of[event.name], []).append(change)
    return found
