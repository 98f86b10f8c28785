"""Small random machines with every drive, and plans for them, by seed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from random import Random

from boards import CARD, CELL, COLUMN, GRID, OWN_WIRES, ROW, board, grid_of

from reference.schedule_planner import UnreachableError, left_to_right
from seqc.machine.electrics import Bus, Drive, DriveKind, Supply
from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Branch, Feed, Gate, Part, Selector
from seqc.machine.tolerances import with_tolerance
from seqc.machine.wiring import groups_of, wired
from seqc.solver.plan import FramePlan


def random_machine(random: Random, size: int = 3, grids: int = 1) -> Machine:
    """One lane a grid, two kinds, up to two transfer and two dump gates, supply and falls short."""
    rows, columns = random.randint(1, size), random.randint(1, size)
    gates = {"drop": random.choice([COLUMN, COLUMN, CELL, GRID])}
    for number in range(random.choice([0, 1, 1, 1, 2])):
        gates[f"swap{number}"] = random.choice([GRID, COLUMN])
    dumps = random.choice([0, 0, 1, 2])
    for number in range(dumps):
        gates[f"dump{number}"] = random.choice([GRID, GRID, COLUMN])
    return board(
        [grid_of(rows, columns, name=f"g{number}") for number in range(grids)],
        selectors=(random.choice([ROW, CELL, ROW]),),
        gates=gates,
        dumps=dumps,
        kind=random.choice(OWN_WIRES),
        limit_ua=random.choice([2_600_000, 4_000_000, 6_000_000, 8_000_000]),
        active_low=random.random() < 0.5,
        fall_us=random.choice([5_000, 30_000, 60_000, 300_000]),
        pulse_switch=random.random() < 0.4,
    )


def mixed_machine(random: Random, size: int = 3) -> Machine:
    """As above, but each part has a drive and a coil of its own, on one of two supplies."""
    return rewired(random, random_machine(random, size))


def rewired(random: Random, machine: Machine) -> Machine:
    """A machine of one lane with drives and coils of its own for each part, on two supplies."""
    limits = [random.choice([2_900_000, 4_000_000, 7_000_000]) for _ in range(2)]
    supplies = [Supply(f"s{n}", 12_000, limit, 200_000) for n, limit in enumerate(limits)]
    all_parts: tuple[Part, ...] = (*machine.selectors, *machine.gates)
    parts = {part.name: _with_coil(random, part) for part in all_parts}
    lane = machine.lanes[0]
    gates = [parts[gate.name] for gate in lane.gates]
    feed = _with_parts(lane.feed, parts)
    lanes = (replace(lane, feed=feed, gates=tuple(g for g in gates if isinstance(g, Gate))),)
    groups = groups_of(parts.values(), lanes)
    outputs: dict[str, range] = {}
    drives: dict[str, Drive] = {}
    first = 0
    for name, members in groups.items():
        kind = random.choice(OWN_WIRES)
        shared = kind is DriveKind.SHARED_REVERSER
        switched = random.random() < 0.3
        outputs[name] = range(first, first + kind.outputs_per_actuator * len(members))
        first = outputs[name].stop
        relay = None if kind is DriveKind.BRIDGE else CARD
        drives[name] = Drive(
            kind,
            (name,),
            random.choice(supplies),
            relay,
            0 if relay else random.choice([100, 70_000]),
            first if shared else None,
            first + shared if switched else None,
        )
        first += shared + switched
    return replace(
        machine,
        lanes=lanes,
        selectors=lanes[0].selectors,
        gates=lanes[0].gates,
        actuators=wired(groups, drives, outputs),
        buses=(Bus("bus", first, active_low=random.random() < 0.5),),
        supplies=tuple(supplies),
    )


def varying(random: Random, machine: Machine, clocks: Sequence[int] = (0,)) -> Machine:
    """The machine with relays that bounce, switches that take a while, and tolerances."""
    drives = {actuator.drive.parts: actuator.drive for actuator in machine.actuators}
    lively = {parts: _lively(random, drive) for parts, drive in drives.items()}
    actuators = tuple(replace(a, drive=lively[a.drive.parts]) for a in machine.actuators)
    ppm = random.choice([10_000, 50_000, 150_000])
    return with_tolerance(replace(machine, actuators=actuators), ppm, random.choice(clocks))


def _lively(random: Random, drive: Drive) -> Drive:
    if drive.relay is not None:
        relay = replace(drive.relay, bounce_us=random.choice([0, 1_000, 2_500]))
        drive = replace(drive, relay=relay)
    if drive.switch is None or random.random() < 0.4:
        return drive
    on_us, off_us = random.choice([100, 3_000]), random.choice([200, 2_000, 5_000])
    return replace(drive, turn_on_us=on_us, turn_off_us=off_us)


def _with_parts(feed: Feed, parts: Mapping[str, Part]) -> Feed:
    if not isinstance(feed, Branch):
        return feed
    selector = parts[feed.selector.name]
    assert isinstance(selector, Selector)
    return Branch(selector, _with_parts(feed.rest, parts), _with_parts(feed.thrown, parts))


def _with_coil(random: Random, part: Part) -> Part:
    coil = replace(
        part.coil,
        name=f"coil of {part.name}",
        resistance_mohm=random.choice([5_600, 8_200, 12_000, 20_000]),
        pulse_us=random.choice([20_000, 40_000, 55_000]),
        travel_us=random.choice([10_000, 18_000]),
        recover_us=random.choice([0, 30_000, 60_000]),
    )
    return replace(part, coil=coil, settle_us=random.choice([0, 10_000, 45_000]))


def random_plans(random: Random, machine: Machine, count: int) -> list[FramePlan]:
    """Plans of frames in a row, fewer where glyphs are out of reach."""
    plans: list[FramePlan] = []
    for name in range(count):
        for _ in range(20):
            start = plans[-1].grids[-1].end if plans else None
            try:
                plans.append(left_to_right(machine, _glyphs(random, machine, str(name)), start))
            except UnreachableError:
                continue
            break
    return plans


def _glyphs(random: Random, machine: Machine, name: str) -> list[Glyph]:
    kinds = [item.name for item in machine.items]
    return [
        Glyph(name, "hand", grid.name, tuple(random.choice(kinds) for _ in grid.cells))
        for grid in machine.grids
    ]
