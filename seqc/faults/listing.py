"""Every fault that a machine may have."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise

from seqc.faults.fault import Fault, FaultKind, Spot
from seqc.machine.clearance import distance_um
from seqc.machine.model import Machine
from seqc.machine.parts import Gate, Lane, Part, Position, items_of
from seqc.machine.wiring import Actuator
from seqc.simulator.defects import Defects, Wiring, Works
from seqc.simulator.lines import Line, lines_of
from seqc.simulator.pieces import Pieces

DEAD = {FaultKind.OUTPUT_OFF, FaultKind.CONTACT_OPEN}
"""Faults by which nothing comes."""

MOST_ALIKE = 40
"""Of a part with more actuators only those with neighbouring outputs are taken to be exchanged."""


def faults_of(machine: Machine) -> tuple[Fault, ...]:
    """All faults that last: those of actuators and wiring first, then those of single lanes."""
    return (
        *_stuck(machine),
        *_turned(machine),
        *_exchanged(machine),
        *_outputs(machine),
        *(fault for lane in machine.lanes for fault in _of_lane(machine, lane)),
    )


def held_in(machine: Machine, table: int) -> tuple[Fault, ...]:
    """The items that may have been held once, while the table of that number was played."""
    found = []
    for lane in machine.lanes:
        for level, gate in enumerate(lane.gates):
            for cell in range(len(lane.grid.cells)):
                works = Works(held=frozenset({(lane.grid.name, level, cell)}))
                spots = frozenset({(lane.grid.name, cell)})
                defects = Defects(works=works)
                kind = FaultKind.HELD_ONCE
                found.append(Fault(kind, defects, spots, gate=gate.name, table=table))
    return tuple(found)


def spots_of(*actuators: Actuator) -> frozenset[Spot]:
    """The cells in which actuators move something."""
    return frozenset(
        (actuator.grid.name, actuator.grid.index_of[cell])
        for actuator in actuators
        for cell in actuator.cells
    )


def _stuck(machine: Machine) -> Iterator[Fault]:
    for actuator in machine.actuators:
        for position in Position:
            works = Works(stuck=frozenset({(actuator.index, position)}))
            yield Fault(
                FaultKind.STUCK,
                Defects(works=works),
                spots_of(actuator),
                (actuator.index,),
                position=position,
            )


def _turned(machine: Machine) -> Iterator[Fault]:
    for actuator in machine.actuators:
        wiring = Wiring(turned=frozenset({actuator.index}))
        spots = spots_of(actuator)
        yield Fault(FaultKind.WIRES_SWAPPED, Defects(wiring), spots, (actuator.index,))


def _exchanged(machine: Machine) -> Iterator[Fault]:
    """Coils of one part whose plugs look alike, and coils whose outputs lie side by side."""
    alike: dict[tuple[str, str], list[int]] = {}
    for actuator in machine.actuators:
        alike.setdefault((actuator.part.name, actuator.grid.name), []).append(actuator.index)
    pairs = {pair for some in alike.values() if len(some) <= MOST_ALIKE for pair in _pairs(some)}
    by_output = sorted(machine.actuators, key=lambda actuator: min(actuator.outputs))
    pairs |= {(*sorted((a.index, b.index)),) for a, b in pairwise(by_output)}  # type: ignore[misc]
    for pair in sorted(pairs):
        one, other = (machine.actuators[index] for index in pair)
        wiring = Wiring(exchanged=frozenset({pair}))
        spots = spots_of(one, other)
        yield Fault(FaultKind.COILS_EXCHANGED, Defects(wiring), spots, pair)


def _pairs(indices: list[int]) -> Iterator[tuple[int, int]]:
    return combinations(indices, 2)


def _outputs(machine: Machine) -> Iterator[Fault]:
    for output, line in lines_of(machine, Pieces()).items():
        bit = 1 << output
        wrong = {FaultKind.OUTPUT_ON: Wiring(on=bit), FaultKind.OUTPUT_OFF: Wiring(off=bit)}
        if line.relay is not None:
            wrong |= {
                FaultKind.CONTACT_OPEN: Wiring(parted=bit),
                FaultKind.CONTACT_WELDED: Wiring(welded=bit),
            }
        spots = spots_of(*(machine.actuators[index] for index in line.actuators))
        for kind, wiring in wrong.items():
            yield Fault(kind, Defects(wiring), spots, line.actuators, output)
        yield from _left_thrown(machine, line, spots, [kind for kind in wrong if kind in DEAD])


def _left_thrown(
    machine: Machine, line: Line, spots: frozenset[Spot], kinds: list[FaultKind]
) -> Iterator[Fault]:
    """The same, where a part that can't be driven to rest was thrown before power came."""
    index = line.actuators[0]
    outputs = machine.actuators[index].outputs
    if len(line.actuators) == 1 and line.output == outputs[-1]:
        works = Works(stuck=frozenset({(index, Position.THROWN)}))
        for kind in kinds:
            thrown = Position.THROWN
            yield Fault(kind, Defects(works=works), spots, (index,), line.output, position=thrown)


def _of_lane(machine: Machine, lane: Lane) -> Iterator[Fault]:
    cells = range(len(lane.grid.cells))
    parts: tuple[Part, ...] = (*lane.selectors, *lane.gates)
    for part in parts:
        for at in lane.cells_of(part):
            yield from _linkage(machine, lane, part, lane.grid.index_of[at])
    for level in range(lane.gates_above):
        for cell in cells:
            spot = (lane.grid.name, level, cell)
            yield _fault(FaultKind.LANE_BLOCKED, lane, spot, Works(blocked=frozenset({spot})))
            yield _fault(FaultKind.LANE_SLOW, lane, spot, Works(slow=frozenset({spot})))
    for cell in cells:
        spot = (lane.grid.name, 0, cell)
        yield _fault(FaultKind.TWO_AT_ONCE, lane, spot, Works(doubled=frozenset({spot})))
    yield from _sticking(machine, lane)
    yield from _magazines(lane)


def _fault(
    kind: FaultKind,
    lane: Lane,
    spot: tuple[str, int, int],
    works: Works,
    kinds: tuple[str, ...] = (),
) -> Fault:
    grid, level, cell = spot
    gate = lane.gates[level].name
    return Fault(kind, Defects(works=works), frozenset({(grid, cell)}), gate=gate, kinds=kinds)


def _linkage(machine: Machine, lane: Lane, part: Part, cell: int) -> Iterator[Fault]:
    """The part of one cell that has come off an actuator which moves others too."""
    actuator = machine.actuator_of(part, lane.grid, lane.grid.cells[cell])
    if len(actuator.cells) == 1:
        return
    for position in Position:
        works = Works(loose=frozenset({(actuator.index, cell, position)}))
        yield Fault(
            FaultKind.LINKAGE_BROKEN,
            Defects(works=works),
            frozenset({(lane.grid.name, cell)}),
            (actuator.index,),
            gate=part.name if isinstance(part, Gate) else "",
            position=position,
        )


def _sticking(machine: Machine, lane: Lane) -> Iterator[Fault]:
    """Items of steel in lanes that pass a magnet nearer than they should, or may do so."""
    steel = [item.name for item in lane.items if item.is_steel]
    for cell in range(len(lane.grid.cells)) if steel else ():
        if is_near_magnet(machine, lane, cell) is False:
            continue
        for level in range(lane.gates_above):
            spot = (lane.grid.name, level, cell)
            works = Works(sticking=frozenset((spot, kind) for kind in steel))
            yield _fault(FaultKind.STICKS_AT_MAGNET, lane, spot, works, tuple(steel))


def is_near_magnet(machine: Machine, lane: Lane, cell: int) -> bool | None:
    """Whether a lane passes a magnet nearer than it should; None where that isn't declared."""
    clearance = machine.clearance
    fields = [f for f in clearance.fields if f.grid.name == lane.grid.name] if clearance else []
    if clearance is None or not fields or not clearance.magnets:
        return None
    at = lane.grid.cells[cell]
    return any(
        distance_um(field, at, magnet.centre) < magnet.least_um
        for field in fields
        for magnet in clearance.magnets
    )


def _magazines(lane: Lane) -> Iterator[Fault]:
    """Two kinds filled into each other's magazines, above one cell or above all."""
    offered = [{item.name for item in items_of(feed)} for feed in lane.feeds]
    for one, other in combinations((item.name for item in lane.items), 2):
        cells = [cell for cell, kinds in enumerate(offered) if {one, other} <= kinds]
        groups = [[cell] for cell in cells] + ([cells] if len(cells) > 1 else [])
        for group in groups:
            works = Works(mixed=frozenset((lane.grid.name, cell, one, other) for cell in group))
            spots = frozenset((lane.grid.name, cell) for cell in group)
            kind, kinds = FaultKind.MAGAZINES_EXCHANGED, (one, other)
            yield Fault(kind, Defects(works=works), spots, kinds=kinds)
