"""The rules of section 4 held against a line of pulses, one by one and with no thought of speed.

Nothing here is shared with the scheduler: only the machine, and pulses as what they are.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from typing import Protocol

from seqc.machine.electrics import DriveKind
from seqc.machine.model import Machine
from seqc.machine.parts import Cell, Gate, Lane, Part, Position
from seqc.machine.wiring import Actuator


class Shot(Protocol):
    """What is looked at of a pulse."""

    @property
    def actuator(self) -> Actuator: ...
    @property
    def position(self) -> Position: ...
    @property
    def start_us(self) -> int: ...
    @property
    def length_us(self) -> int: ...


def broken_rules(machine: Machine, shots: Iterable[Shot]) -> list[str]:
    """Every breach in words; none if all is well."""
    line = sorted(shots, key=lambda shot: shot.start_us)
    found = [*_coils(line), *_supplies(machine, line), *_drives(line)]
    for lane in machine.lanes:
        mine = [shot for shot in line if shot.actuator.grid.name == lane.grid.name]
        found += [*_selectors(lane, mine), *_gates(mine)]
        for cell in lane.grid.cells:
            found += _items(lane, [shot for shot in mine if cell in shot.actuator.cells], cell)
    return found


def _end(shot: Shot) -> int:
    return shot.start_us + shot.length_us


def _settled(shot: Shot) -> int:
    return shot.start_us + shot.actuator.coil.travel_us + shot.actuator.part.settle_us


def _coils(line: Sequence[Shot]) -> Iterator[str]:
    for one, two in itertools.combinations(line, 2):
        if one.actuator is two.actuator:
            coil = one.actuator.coil
            decay = 5 * coil.inductance_uh * 1000 / coil.resistance_mohm
            rest = max(coil.recover_us, decay, one.actuator.drive.dead_us)
            if two.start_us < _end(one) + rest:
                yield f"{two.actuator} pulsed too soon at {two.start_us}"


def _supplies(machine: Machine, line: Sequence[Shot]) -> Iterator[str]:
    for supply in machine.supplies:
        for now in line:
            drawn = sum(
                shot.actuator.coil.voltage_mv / shot.actuator.coil.resistance_mohm
                for shot in line
                if shot.actuator.drive.supply.name == supply.name
                and shot.start_us <= now.start_us < _end(shot)
            )
            if drawn * (1 + supply.margin_ppm / 1e6) > supply.limit_ua / 1e6 + 1e-9:
                yield f"{supply.name} overdrawn at {now.start_us}"


def _drives(line: Sequence[Shot]) -> Iterator[str]:
    for one, two in itertools.combinations(line, 2):
        drive = one.actuator.drive
        if drive != two.actuator.drive:
            continue
        gap = two.start_us - _end(one)
        if drive.kind is DriveKind.SHARED_REVERSER and one.position is not two.position:
            assert drive.relay is not None
            turn = (
                drive.relay.operate_us if two.position is Position.REST else drive.relay.release_us
            )
            if gap < turn + 5 * one.actuator.coil.inductance_uh * 1000 / (
                one.actuator.coil.resistance_mohm
            ):
                yield f"the rail turns between {one} and {two}"
        if drive.switch is not None and (one.start_us, _end(one)) != (two.start_us, _end(two)):
            relay = drive.relay
            if gap < (max(relay.operate_us, relay.release_us) if relay else 0):
                yield f"contacts move under load between {one} and {two}"


def _last(line: Sequence[Shot], part: Part, before: int) -> Shot | None:
    past = [s for s in line if s.actuator.part.name == part.name and s.start_us < before]
    return past[-1] if past else None


def _selectors(lane: Lane, line: Sequence[Shot]) -> Iterator[str]:
    for shot in line:
        for cell in shot.actuator.cells:
            mine = [one for one in line if cell in one.actuator.cells]
            if shot.actuator.part.name == lane.metering.name:
                if shot.position is Position.THROWN:
                    for selector in lane.selectors:
                        last = _last(mine, selector, shot.start_us + 1)
                        if last and _settled(last) > shot.start_us:
                            yield f"{shot} before {last} is settled"
            elif not isinstance(shot.actuator.part, Gate):
                last = _last(mine, lane.metering, shot.start_us + 1)
                if last and (last.position is Position.THROWN or _settled(last) > shot.start_us):
                    yield f"{shot} moves under {last}"


def _gates(line: Sequence[Shot]) -> Iterator[str]:
    for shot in line:
        part = shot.actuator.part
        if isinstance(part, Gate):
            own = [s for s in line if s.actuator is shot.actuator and s.start_us < shot.start_us]
            if own and own[-1].position is not shot.position:
                wait = part.refill_us if shot.position is Position.THROWN else part.open_us
                if shot.start_us < _settled(own[-1]) + wait:
                    yield f"{shot} too soon after {own[-1]}"


def _items(lane: Lane, line: Sequence[Shot], cell: Cell) -> Iterator[str]:
    """Follow the items of one cell from gate to gate."""
    gates = [gate.name for gate in lane.gates]
    arrived: dict[int, list[tuple[int, int]]] = {place: [] for place in range(len(gates) + 1)}
    for shot in sorted(line, key=_settled):
        if shot.actuator.part.name not in gates or shot.position is Position.REST:
            continue
        rank = gates.index(shot.actuator.part.name)
        now = _settled(shot)
        if rank:
            waiting = [item for item in arrived[rank] if item[0] <= now]
            for _, still in waiting:
                if still > shot.start_us:
                    yield f"{shot} before the item above it lies still in {cell}"
            if not waiting:
                continue
            arrived[rank] = [item for item in arrived[rank] if item[0] > now]
        below = rank + 1
        path = lane.paths[rank] if rank < lane.gates_above else None
        lands = now + (path.fall_us if path else 0)
        if below < len(gates):
            yield from _landing(lane, line, arrived[below], below, lands)
        if below < len(gates) or below == lane.gates_above:
            arrived[below] = [] if below == len(gates) else arrived[below]
            arrived[below].append((lands, lands + (path.settle_us if path else 0)))


def _landing(
    lane: Lane, line: Sequence[Shot], there: Sequence[tuple[int, int]], rank: int, lands: int
) -> Iterator[str]:
    name = lane.gates[rank].name
    pulses = [s for s in line if s.actuator.part.name == name and s.start_us <= lands]
    if pulses and (pulses[-1].position is Position.THROWN or _settled(pulses[-1]) > lands):
        yield f"an item lands on {name} at {lands}, which isn't at rest"
    throws = [s for s in pulses if s.position is Position.THROWN]
    for since, _ in there:
        if not any(since <= _settled(throw) <= lands for throw in throws):
            yield f"an item lands above {name} at {lands} on another"
