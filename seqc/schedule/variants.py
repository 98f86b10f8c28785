"""The same machine with one thing changed, so that what it would gain can be computed."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace

from seqc.machine.electrics import Coil, Supply
from seqc.machine.model import Machine
from seqc.machine.parts import Branch, Feed, Gate, Lane, LinkageKind, Part, Path, Selector
from seqc.machine.wiring import Actuator, groups_of, wired

SWAPPED = {LinkageKind.ROW: LinkageKind.COLUMN, LinkageKind.COLUMN: LinkageKind.ROW}


def with_supply(machine: Machine, name: str, change: Callable[[Supply], Supply]) -> Machine:
    """One supply changed, in every drive on it."""

    def changed(supply: Supply) -> Supply:
        return change(supply) if supply.name == name else supply

    drives = {id(a.drive): a.drive for a in machine.actuators}.values()
    renewed = {id(drive): replace(drive, supply=changed(drive.supply)) for drive in drives}
    actuators = tuple(replace(a, drive=renewed[id(a.drive)]) for a in machine.actuators)
    supplies = tuple(changed(supply) for supply in machine.supplies)
    return replace(machine, actuators=actuators, supplies=supplies)


def with_coil(machine: Machine, name: str, change: Callable[[Coil], Coil]) -> Machine:
    """One coil changed, in every part that it moves."""

    def changed(part: Part) -> Part:
        return replace(part, coil=change(part.coil)) if part.coil.name == name else part

    parts = _parts(machine, changed)
    actuators = tuple(replace(a, part=parts[a.part.name]) for a in machine.actuators)
    return _with_parts(machine, parts, actuators)


def with_path(
    machine: Machine, source: str, target: str, change: Callable[[Path], Path]
) -> Machine:
    """One path changed, in every lane that has it."""

    def changed(path: Path) -> Path:
        return change(path) if (path.source, path.target) == (source, target) else path

    lanes = tuple(replace(lane, paths=tuple(map(changed, lane.paths))) for lane in machine.lanes)
    return replace(machine, lanes=lanes)


def with_rows_and_columns_swapped(machine: Machine) -> Machine:
    """What moves per row moves per column, and the other way round; outputs are numbered anew."""

    def changed(part: Part) -> Part:
        kind = part.linkage.kind
        return replace(part, linkage=replace(part.linkage, kind=SWAPPED.get(kind, kind)))

    parts = _parts(machine, changed)
    lanes = tuple(_lane_of_parts(lane, parts) for lane in machine.lanes)
    drives = {a.part.name: a.drive for a in machine.actuators}
    groups = groups_of((parts[name] for name in drives), lanes)
    outputs: dict[str, range] = {}
    first = machine.width
    for name, members in groups.items():
        count = drives[name].kind.outputs_per_actuator * len(members)
        outputs[name] = range(first, first + count)
        first += count
    actuators = wired(groups, drives, outputs)
    return _with_parts(machine, parts, actuators)


def _parts(machine: Machine, change: Callable[[Part], Part]) -> dict[str, Part]:
    parts: Iterable[Part] = (*machine.selectors, *machine.gates)
    return {part.name: change(part) for part in parts}


def _with_parts(
    machine: Machine, parts: dict[str, Part], actuators: tuple[Actuator, ...]
) -> Machine:
    return replace(
        machine,
        lanes=tuple(_lane_of_parts(lane, parts) for lane in machine.lanes),
        selectors=tuple(_selector(parts, one.name) for one in machine.selectors),
        gates=tuple(_gate(parts, one.name) for one in machine.gates),
        actuators=actuators,
    )


def _lane_of_parts(lane: Lane, parts: dict[str, Part]) -> Lane:
    gates = tuple(_gate(parts, gate.name) for gate in lane.gates)
    return replace(lane, feed=_feed_of_parts(lane.feed, parts), gates=gates)


def _feed_of_parts(feed: Feed, parts: dict[str, Part]) -> Feed:
    """The feed rebuilt from its leaves upwards."""
    order: list[Feed] = []
    waiting = [feed]
    while waiting:
        node = waiting.pop()
        order.append(node)
        if isinstance(node, Branch):
            waiting += [node.rest, node.thrown]
    built: dict[int, Feed] = {}
    for node in reversed(order):
        built[id(node)] = node
        if isinstance(node, Branch):
            selector = _selector(parts, node.selector.name)
            built[id(node)] = Branch(selector, built[id(node.rest)], built[id(node.thrown)])
    return built[id(feed)]


def _selector(parts: dict[str, Part], name: str) -> Selector:
    part = parts[name]
    assert isinstance(part, Selector)
    return part


def _gate(parts: dict[str, Part], name: str) -> Gate:
    part = parts[name]
    assert isinstance(part, Gate)
    return part
