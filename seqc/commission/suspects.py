"""Suspects in words: what may be wrong, and where to look."""

from __future__ import annotations

from collections.abc import Iterator

from seqc.faults import Diagnosis, Fault, FaultKind
from seqc.machine.model import Machine
from seqc.machine.wording import listed

MOST_TOLD = 8

WORDS = {
    FaultKind.STUCK: "{actuators} stays at {position}: friction, its coil, its plug",
    FaultKind.WIRES_SWAPPED: "the wires of {actuators} are swapped at its coil",
    FaultKind.COILS_EXCHANGED: "the coils of {actuators} are exchanged",
    FaultKind.OUTPUT_ON: "output {output} is always active ({actuators}): its driver, a short",
    FaultKind.OUTPUT_OFF: "output {output} is never active ({actuators}): its driver, a wire",
    FaultKind.CONTACT_OPEN: "the contact of output {output} doesn't make ({actuators})",
    FaultKind.CONTACT_WELDED: "the contact of output {output} is welded ({actuators})",
    FaultKind.LINKAGE_BROKEN: "the linkage of {actuators} is broken at {cell}",
    FaultKind.LANE_BLOCKED: "the lane of {cell} is blocked after {gate}",
    FaultKind.LANE_SLOW: "the lane of {cell} is slow after {gate}: dirt, slope, a burr",
    FaultKind.TWO_AT_ONCE: "{gate} lets two through at once at {cell}",
    FaultKind.HELD_ONCE: "an item was held back once at {gate}, {cell}",
    FaultKind.MAGAZINES_EXCHANGED: "the magazines of {kinds} are exchanged at {cell}",
    FaultKind.STICKS_AT_MAGNET: "{kinds} sticks to a magnet near the lane of {cell}, after {gate}",
}


def fault_words(machine: Machine, fault: Fault) -> str:
    """A fault as a person should read it."""
    names = [machine.actuators[index].name for index in fault.actuators]
    cell = ""
    if fault.spot:
        grid, number = fault.spot
        place = machine.lane_of(grid).grid.cells[number]
        cell = f"{place} of {grid}" if len(machine.grids) > 1 else str(place)
    return WORDS[fault.kind].format(
        actuators=listed(names, "and") if names else "no actuator",
        position=fault.position.value if fault.position else "?",
        output=fault.output,
        cell=cell,
        gate=fault.gate,
        kinds=listed(fault.kinds, "and") if fault.kinds else "",
    )


def suspect_lines(machine: Machine, diagnosis: Diagnosis) -> Iterator[str]:
    """The verdict, then the likeliest first; those in one entry aren't told apart so far."""
    if not diagnosis.wrong:
        yield "all that was seen is as it should be"
        return
    yield f"{len(diagnosis.wrong)} cells are not as they should be"
    if not diagnosis.suspects:
        yield "no fault, nor two together, explains all of it: look again at what was marked"
        return
    if not diagnosis.singles:
        yield "no single fault explains it; these pairs do"
    for suspect in diagnosis.suspects[:MOST_TOLD]:
        causes = [" and ".join(fault_words(machine, f) for f in pair) for pair in suspect.causes]
        yield f"{suspect.share:4.0%}  {causes[0]}"
        yield from (f"      or {cause}" for cause in causes[1:MOST_TOLD])
    more = len(diagnosis.suspects) - MOST_TOLD
    if more > 0:
        yield f"      and {more} more"
