"""How often each part has operated, by a record: what was played, and what was replaced since."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping

from seqc.commission.record import Entry
from seqc.machine.electrics import DriveKind
from seqc.machine.model import Machine
from seqc.machine.steptable import StepTable, TableSet
from seqc.machine.wiring import Actuator
from seqc.simulator import Event, Simulator

Counts = Mapping[str, Mapping[str, int]]
"""What an entry of a record tells: `forward` and `reverse` pulses by the name of the actuator, and
`turns` of a shared reverser by its output."""


def counts_of(machine: Machine, before: TableSet, table: StepTable | None) -> Counts:
    """What playing a table once operates; what home and the clear table do where there is none."""
    simulator = Simulator(machine, stock=False, log=True)
    events = [event for one in _first(before) for event in simulator.run(one).events]
    if table is not None:
        turned = simulator.closings
        events = list(simulator.run(table).events)
    else:
        turned = {}
    closed = simulator.closings
    reversers = {a.drive.reverser for a in machine.actuators} - {None}
    turns = {str(n): closed[n] - turned.get(n, 0) for n in closed if n in reversers}
    return {
        "forward": dict(_pulses(events, "forward")),
        "reverse": dict(_pulses(events, "reverse")),
        "turns": {output: count for output, count in turns.items() if count},
    }


def _first(before: TableSet) -> Iterator[StepTable]:
    yield before.home
    if before.clear:
        yield before.clear


def _pulses(events: Iterable[Event], polarity: str) -> Counter[str]:
    return Counter(e.name for e in events if e.what == "coil" and e.state == polarity)


def operations(machine: Machine, entries: Iterable[Entry]) -> dict[str, int]:
    """How often each part has operated since it was built in, by the name of the part.

    Names are those of the forecast: the coil of an actuator, its relays, a reverser. What a record
    has that isn't of this machine is left out.
    """
    parts = {name: 0 for actuator in machine.actuators for name, _ in _parts(actuator)}
    for entry in entries:
        if entry["what"] == "replaced":
            parts[str(entry.get("part"))] = 0
        for name, count in _operated(machine, entry):
            parts[name] = parts.get(name, 0) + count
    return parts


def part_names(machine: Machine) -> tuple[str, ...]:
    """Every part that operates and may be replaced."""
    return tuple(operations(machine, ()))


def worn(machine: Machine, counted: Mapping[str, int]) -> dict[str, float]:
    """The share of a rated life that is used of each actuator: of its coil, or of its contacts."""
    return {
        actuator.name: max(
            (counted[name] / life for name, life in _lives(actuator) if life), default=0.0
        )
        for actuator in machine.actuators
    }


def _lives(actuator: Actuator) -> Iterator[tuple[str, int | None]]:
    """The parts of an actuator with their rated lives; contacts live by what they switch."""
    relay = actuator.drive.relay
    contacts = None
    if relay is not None:
        contacts = relay.mechanical_life if actuator.drive.switch else relay.contact_life
    for name, _ in _parts(actuator):
        yield name, actuator.coil.life if name.startswith("coil ") else contacts


def _operated(machine: Machine, entry: Entry) -> Iterator[tuple[str, int]]:
    counts = {side: entry.get(side) for side in ("forward", "reverse", "turns")}
    if not all(isinstance(found, dict) for found in counts.values()):
        return
    for actuator in machine.actuators:
        for name, sides in _parts(actuator):
            yield name, sum(_whole(counts[side], actuator.name) for side in sides)
    for output in dict.fromkeys(a.drive.reverser for a in machine.actuators):
        if output is not None:
            yield f"reverser on output {output}", _whole(counts["turns"], str(output))


def _whole(counts: object, name: str) -> int:
    found = counts.get(name, 0) if isinstance(counts, dict) else 0
    return found if isinstance(found, int) and found >= 0 else 0


def _parts(actuator: Actuator) -> Iterator[tuple[str, tuple[str, ...]]]:
    """The parts of an actuator's own, and the polarities that operate each."""
    yield f"coil of {actuator.name}", ("forward", "reverse")
    match actuator.drive.kind:
        case DriveKind.CHANGEOVER_PAIR:
            yield f"forward relay of {actuator.name}", ("forward",)
            yield f"reverse relay of {actuator.name}", ("reverse",)
        case DriveKind.SHARED_REVERSER:
            yield f"relay of {actuator.name}", ("forward", "reverse")
        case DriveKind.BRIDGE | DriveKind.MATRIX:
            return
