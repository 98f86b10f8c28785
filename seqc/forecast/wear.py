"""How long relays and coils last at the rate of a tally, and which part fails first."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from seqc.forecast.tally import Tally
from seqc.machine.electrics import Drive, DriveKind, Relay
from seqc.machine.lifetime import ASSUMED_SHAPE
from seqc.machine.model import Machine
from seqc.machine.wiring import Actuator


@dataclass(frozen=True)
class PartWear:
    """One relay or coil: what it does in the tally, and when its rated life is over.

    `limit` names the life that ends first: contact life where the contact switches load,
    mechanical life where it doesn't, coil life (in pulses). `switched_life` is the life that a
    pulse switch would leave it, where it has none yet. Times are None for a part at rest. `kind` is
    relay, reverser or coil, and `moves` the name of the machine's part that it moves. A part of
    type `replacement` replaces it; a tenth of such parts doesn't reach its life, and lives differ
    after Weibull with a `shape`. It has operated `used` times before; of a part past its life one
    operation is taken to be left.
    """

    part: str
    limit: str
    operations: int
    life: int
    running_us: int
    kind: str
    moves: str
    switched_life: int | None = None
    replacement: str = ""
    shape: float = ASSUMED_SHAPE
    used: int = 0

    @property
    def hours(self) -> float | None:
        """Hours of this use until the rated life is over."""
        return self._hours(self.life)

    @property
    def switched_hours(self) -> float | None:
        """The same with a pulse switch in the rail."""
        return None if self.switched_life is None else self._hours(self.switched_life)

    def _hours(self, life: int) -> float | None:
        if not self.operations:
            return None
        left = max(life - self.used, 1)
        return left / self.operations * self.running_us / 3_600_000_000

    @property
    def share(self) -> float:
        """The part of the rated life that is used when the tally's frames are over."""
        return (self.used + self.operations) / self.life


def wear(
    machine: Machine, use: Tally, used: Mapping[str, int] | None = None
) -> tuple[PartWear, ...]:
    """Every part with a rated life, the one that fails first in front.

    `used` are the operations before the tally, by the name of the part.
    """
    before = used or {}
    parts = [*_coils(machine, use), *_relays(machine, use), *_reversers(machine, use)]
    worn = (replace(part, used=before.get(part.part, 0)) for part in parts)
    return tuple(sorted(worn, key=lambda part: (-_haste(part), part.part)))


def _haste(part: PartWear) -> float:
    """The share of what is left of its life that the tally's frames take."""
    return part.operations / max(part.life - part.used, 1)


def operations(machine: Machine, use: Tally) -> int:
    """How often all relays together operate; bridges have none."""
    counts = (count for actuator in machine.actuators for _, count in _contacts(actuator, use))
    return sum(counts) + sum(use.turns.values())


def _coils(machine: Machine, use: Tally) -> Iterator[PartWear]:
    for actuator in machine.actuators:
        if actuator.coil.life is not None:
            pulses = use.pulses[actuator.index]
            name, about = f"coil of {actuator.name}", ("coil", actuator.part.name)
            coil, life = actuator.coil, actuator.coil.life
            yield PartWear(
                name,
                "coil life",
                pulses,
                life,
                use.running_us,
                *about,
                None,
                f"coil {coil.name}",
                coil.life_shape,
            )


def _contacts(actuator: Actuator, use: Tally) -> list[tuple[str, int]]:
    """The relays of an actuator, each with the polarity that it gives and how often it operates."""
    forward, reverse = use.forward[actuator.index], use.reverse[actuator.index]
    match actuator.drive.kind:
        case DriveKind.CHANGEOVER_PAIR:
            return [("forward ", forward), ("reverse ", reverse)]
        case DriveKind.SHARED_REVERSER:
            return [("", forward + reverse)]
        case DriveKind.BRIDGE | DriveKind.MATRIX:
            return []


def _relays(machine: Machine, use: Tally) -> Iterator[PartWear]:
    for actuator in machine.actuators:
        drive = actuator.drive
        if drive.relay is None:
            continue
        for polarity, count in _contacts(actuator, use):
            name = f"{polarity}relay of {actuator.name}"
            about = ("relay", actuator.part.name)
            switches = drive.switch is None
            yield from _relay(name, about, drive.relay, switches, count, use.running_us)


def _reversers(machine: Machine, use: Tally) -> Iterator[PartWear]:
    """Shared reversers: they turn while no coil is connected, so they never switch load."""
    drives: dict[int, Drive] = {
        actuator.drive.reverser: actuator.drive
        for actuator in machine.actuators
        if actuator.drive.reverser is not None
    }
    for output, drive in drives.items():
        if drive.relay is not None:
            name = f"reverser on output {output}"
            turns = use.turns.get(output, 0)
            about = ("reverser", ", ".join(drive.parts))
            yield from _relay(name, about, drive.relay, False, turns, use.running_us)


def _relay(
    name: str,
    about: tuple[str, str],
    relay: Relay,
    switches: bool,
    count: int,
    running_us: int,
) -> Iterator[PartWear]:
    mechanical, life = relay.mechanical_life, relay.contact_life
    replacement = f"relay {relay.name}"
    if switches and life is not None:
        shape = relay.contact_shape
        yield PartWear(
            name, "contact life", count, life, running_us, *about, mechanical, replacement, shape
        )
    elif mechanical is not None:
        shape = relay.mechanical_shape
        yield PartWear(
            name, "mechanical life", count, mechanical, running_us, *about, None, replacement, shape
        )
