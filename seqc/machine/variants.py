"""A machine with one thing changed, to see what the change would do."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from seqc.machine.electrics import Bus, Coil, Drive, Supply
from seqc.machine.model import Machine
from seqc.machine.parts import (
    Gate,
    Lane,
    Linkage,
    LinkageKind,
    Part,
    Path,
    Selector,
)
from seqc.machine.wiring import groups_of, wired

SWAPPED = {LinkageKind.ROW: LinkageKind.COLUMN, LinkageKind.COLUMN: LinkageKind.ROW}

Change = Callable[[Part], Part]


def with_supply(machine: Machine, supply: Supply) -> Machine:
    """The machine with another supply of the same name."""

    def fed(drive: Drive) -> Drive:
        return replace(drive, supply=supply) if drive.supply.name == supply.name else drive

    supplies = tuple(supply if each.name == supply.name else each for each in machine.supplies)
    actuators = tuple(replace(each, drive=fed(each.drive)) for each in machine.actuators)
    return replace(machine, supplies=supplies, actuators=actuators)


def with_coil(machine: Machine, coil: Coil) -> Machine:
    """The machine with another coil in place of every one of the same name."""

    def wound(part: Part) -> Part:
        return replace(part, coil=coil) if part.coil.name == coil.name else part

    changed = _with_parts(machine, wound)
    actuators = tuple(replace(each, part=wound(each.part)) for each in machine.actuators)
    return replace(changed, actuators=actuators)


def with_gate(machine: Machine, gate: Gate) -> Machine:
    """The machine with another gate in place of the one of the same name."""

    def hung(part: Part) -> Part:
        return gate if part.name == gate.name else part

    changed = _with_parts(machine, hung)
    actuators = tuple(replace(each, part=hung(each.part)) for each in machine.actuators)
    return replace(changed, actuators=actuators)


def with_path(machine: Machine, path: Path) -> Machine:
    """The machine with another path in place of every one between the same stations."""

    def paved(lane: Lane) -> Lane:
        ends = (path.source, path.target)
        paths = tuple(path if (p.source, p.target) == ends else p for p in lane.paths)
        return replace(lane, paths=paths)

    return replace(machine, lanes=tuple(map(paved, machine.lanes)))


def with_rows_and_columns_swapped(machine: Machine) -> Machine:
    """The machine in which what moved by row moves by column, and the other way round.

    Its actuators are others, and their outputs are numbered anew from 0.
    """

    def turned(part: Part) -> Part:
        kind = SWAPPED.get(part.linkage.kind)
        return replace(part, linkage=Linkage(kind, place=part.linkage.place)) if kind else part

    changed = _with_parts(machine, turned)
    groups = groups_of((*changed.selectors, *changed.gates), changed.lanes)
    drives = {actuator.part.name: actuator.drive for actuator in machine.actuators}
    outputs: dict[str, range] = {}
    first = 0
    for part, members in groups.items():
        outputs[part] = range(first, first + drives[part].kind.outputs_per_actuator * len(members))
        first = outputs[part].stop
    return replace(changed, actuators=wired(groups, drives, outputs))


def with_pulse_switches(machine: Machine) -> Machine:
    """The machine with a pulse switch in the rail of every drive of relays that has none.

    Each switch has an output of its own, on a bus beside the others.
    """
    bare = {id(a.drive): a.drive for a in machine.actuators if a.drive.relay is not None}
    bare = {key: drive for key, drive in bare.items() if drive.switch is None}
    switched = {
        key: replace(drive, switch=machine.width + rank)
        for rank, (key, drive) in enumerate(bare.items())
    }
    actuators = tuple(
        replace(each, drive=switched.get(id(each.drive), each.drive)) for each in machine.actuators
    )
    added = Bus("pulse switches", len(bare), machine.width)
    buses = (*machine.buses, added) if bare else machine.buses
    return replace(machine, actuators=actuators, buses=buses)


def _with_parts(machine: Machine, change: Change) -> Machine:
    """The machine with its selectors, gates and lanes changed, and its actuators as they were."""
    return replace(
        machine,
        selectors=tuple(_selector(change, each) for each in machine.selectors),
        gates=tuple(_gate(change, each) for each in machine.gates),
        lanes=tuple(
            replace(
                lane.with_selectors(lambda each: _selector(change, each)),
                gates=tuple(_gate(change, gate) for gate in lane.gates),
            )
            for lane in machine.lanes
        ),
    )


def _selector(change: Change, part: Selector) -> Selector:
    changed = change(part)
    assert isinstance(changed, Selector)
    return changed


def _gate(change: Change, part: Gate) -> Gate:
    changed = change(part)
    assert isinstance(changed, Gate)
    return changed
