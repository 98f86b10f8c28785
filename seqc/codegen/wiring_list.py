"""The wiring list: what hangs on each output, terminal by terminal, and the cautions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import astuple, dataclass, fields

from seqc.codegen.csv_files import numbered_csv
from seqc.codegen.names import markdown, spreadsheet
from seqc.machine.cautions import CODES_DECIDE, EXTRA_LOW, SUPPLY_OFF
from seqc.machine.electrics import Bus, Drive, DriveKind, Supply
from seqc.machine.model import Machine
from seqc.machine.wiring import Actuator

CAUTIONS = (
    f"{CODES_DECIDE} This list replaces neither.",
    SUPPLY_OFF,
    "Fit a time-lag fuse in the supply's lead, sized for the pulses: `seqc forecast` says how "
    "large.",
    "All coils of one supply return to it by one common conductor that bears the sum of their "
    "currents; the controller's ground meets it at one point only.",
    "These coils are driven both ways: a plain freewheel diode across one conducts across the "
    "supply once the polarity is reversed. Use a bidirectional suppressor, a varistor or the four "
    "diodes of a bridge, across each coil and close to it.",
    "Relay cards are commonly active low: a pin that floats or is made an output before its level "
    "is written makes every relay pull in. The player writes the levels first; keep pull-ups too.",
    "No fuse of the whole supply protects one coil that is held on: fit a fuse for each coil, a "
    "thermal cut-off on it, or a timer that drops the rail.",
    "An emergency stop cuts the coils and not the logic, so that the controller still knows where "
    "everything stands.",
    "The coils bear pulses only; one held on burns. Keep the supply off until the outputs have "
    "been seen inactive, and try each one with its coil unplugged first.",
    "Moving parts pinch: keep a gap of 25 mm or more, or a guard, wherever a finger can reach.",
    f"Keep to extra-low voltage: {EXTRA_LOW}.",
)


@dataclass(frozen=True, slots=True)
class Connection:
    """One output and what it is connected to."""

    output: int
    bus: str
    bus_bit: int
    active: str
    actuator: str
    driver_input: str
    relay: str
    coil_terminal: str
    polarity: str


@dataclass(frozen=True, slots=True)
class Use:
    """What one output does in a drive."""

    output: int
    actuator: str
    driver_input: str
    relay: str
    coil_terminal: str
    polarity: str


HEAD = tuple(field.name for field in fields(Connection))


@dataclass(frozen=True)
class WiringList:
    """The wiring list of a machine."""

    machine: Machine

    @property
    def title(self) -> str:
        """The machine's name for a heading."""
        return markdown(self.machine.name)

    @property
    def cautions(self) -> tuple[str, ...]:
        """What to mind, most important first."""
        return CAUTIONS

    @property
    def connections(self) -> tuple[Connection, ...]:
        """Every output in order; those that nothing uses are listed as spare."""
        uses: dict[int, list[Use]] = {}
        for use in dict.fromkeys(_uses(self.machine)):
            uses.setdefault(use.output, []).append(use)
        return tuple(
            _connection(bus, bit, use)
            for bus in self.machine.buses
            for bit in range(bus.bits)
            for use in uses.get(bus.first + bit, [_spare(bus.first + bit)])
        )

    @property
    def supplies(self) -> Iterator[str]:
        """One line for each supply."""
        for supply in self.machine.supplies:
            yield (
                f"{markdown(supply.name)}: {supply.voltage_mv / 1000:g} V, "
                f"at most {supply.limit_ua / 1_000_000:g} A{self._fed(supply)}"
            )

    def _fed(self, supply: Supply) -> str:
        """What a supply feeds besides coils of actuators."""
        words = []
        if supply.always_ua:
            words.append(f"the controller {supply.always_ua / 1000:g} mA")
        relays = {relay.name: relay for a in self.machine.actuators if (relay := a.drive.relay)}
        for relay in relays.values():
            if relay.coil_supply is not None and relay.coil_supply.name == supply.name:
                each = f"{relay.coil_ua / 1000:g} mA each"
                words.append(f"the coils of relays {markdown(relay.name)} {each}")
        return f"; feeds {' and '.join(words)}" if words else ""

    @property
    def rows(self) -> Iterator[str]:
        """The table as Markdown."""
        yield _markdown_row(name.replace("_", " ") for name in HEAD)
        yield _markdown_row("---" for _ in HEAD)
        for connection in self.connections:
            yield _markdown_row(markdown(str(value)) for value in astuple(connection))

    def csv(self, number: str) -> str:
        """The table as CSV (RFC 4180), with the build number."""
        rows = [
            [spreadsheet(str(value)) for value in astuple(connection)]
            for connection in self.connections
        ]
        return numbered_csv(HEAD, rows, number)


def _markdown_row(cells: Iterable[str]) -> str:
    return f"| {' | '.join(cells)} |"


def _connection(bus: Bus, bit: int, use: Use) -> Connection:
    active = "low" if bus.active_low else "high"
    number = bit + bus.counted_from
    return Connection(bus.first + bit, bus.name, number, active, *astuple(use)[1:])


def _spare(output: int) -> Use:
    return Use(output, "", "spare", "", "", "")


def _uses(machine: Machine) -> Iterator[Use]:
    for actuator in machine.actuators:
        match actuator.drive.kind:
            case DriveKind.CHANGEOVER_PAIR:
                yield from _changeover_pair(machine, actuator)
            case DriveKind.BRIDGE:
                yield from _bridge(actuator)
            case DriveKind.SHARED_REVERSER:
                yield from _shared_reverser(machine, actuator)
            case DriveKind.MATRIX:
                continue
        yield from _pulse_switch(actuator.drive)
    yield from _matrices(machine)


def _label(machine: Machine, output: int) -> str:
    """What a relay is called: by its board where users count that from 1, else by its output."""
    for bus in machine.buses:
        if bus.counted_from and bus.first <= output < bus.first + bus.bits:
            return f"{bus.name} {output - bus.first + bus.counted_from}"
    return f"K{output}"


def _relay(drive: Drive, label: str) -> str:
    return f"{label} ({drive.relay.name if drive.relay else 'relay'})"


def _changeover_pair(machine: Machine, actuator: Actuator) -> Iterator[Use]:
    """The coil is between the two common contacts; at rest both are on the return."""
    sides = zip(actuator.outputs, "AB", ("forward to thrown", "reverse to rest"), strict=True)
    for output, terminal, polarity in sides:
        label = _label(machine, output)
        relay = _relay(actuator.drive, label)
        yield Use(output, actuator.name, f"coil of {label}", relay, terminal, polarity)


def _bridge(actuator: Actuator) -> Iterator[Use]:
    number = actuator.index
    sides = zip(actuator.outputs, "AB", ("forward to thrown", "reverse to rest"), strict=True)
    for rank, (output, terminal, polarity) in enumerate(sides, 1):
        driver = f"input {rank} of bridge H{number}"
        yield Use(output, actuator.name, driver, "", terminal, polarity)


def _matrices(machine: Machine) -> Iterator[Use]:
    """Two switches for each row and each column, which their coils share.

    Terminal A of a coil is at its row: one diode leads from the row's high wire to A, another from
    A to the row's low wire. Terminal B is at the half bridge of its column.
    """
    coils: dict[int, list[Actuator]] = {}
    for actuator in machine.actuators:
        if actuator.drive.kind is DriveKind.MATRIX:
            for output in actuator.outputs:
                coils.setdefault(output, []).append(actuator)
    forward, reverse = "forward to thrown", "reverse to rest"
    for output, own in coils.items():
        driver, terminal, polarity = (
            (f"high switch Q{output} of a row", "high wire, by a diode to A", forward),
            (f"low side of half bridge Q{output}", "B", forward),
            (f"low switch Q{output} of a row", "low wire, by a diode from A", reverse),
            (f"high side of half bridge Q{output}", "B", reverse),
        )[own[0].outputs.index(output)]
        yield Use(output, ", ".join(a.name for a in own), driver, "", terminal, polarity)


def _shared_reverser(machine: Machine, actuator: Actuator) -> Iterator[Use]:
    drive = actuator.drive
    output = actuator.outputs[0]
    label = _label(machine, output)
    yield Use(
        output,
        actuator.name,
        f"coil of {label}",
        _relay(drive, label),
        "A; B to rail 2",
        "as the reverser stands",
    )
    if drive.reverser is not None:
        label = _label(machine, drive.reverser)
        yield Use(
            drive.reverser,
            ", ".join(drive.parts),
            f"coil of {label}",
            f"{_relay(drive, label)}, double pole",
            "rails 1 and 2",
            "inactive: forward; active: reverse",
        )


def _pulse_switch(drive: Drive) -> Iterator[Use]:
    if drive.switch is not None:
        parts = ", ".join(drive.parts)
        yield Use(drive.switch, parts, f"gate of switch Q{drive.switch}", "", "supply rail", "")
