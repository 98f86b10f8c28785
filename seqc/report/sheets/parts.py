"""The shopping list: what to buy to build the machine once, counted from its declaration."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator

from seqc.forecast.result import Forecast
from seqc.machine.cautions import CODES_DECIDE
from seqc.machine.electrics import MILLION, Coil, Drive, DriveKind
from seqc.machine.model import Machine
from seqc.report.sheets.sheet import Sheet, Table

HEAD = ("count", "part", "what it must be")
BITS_A_REGISTER = 8
SPARE_WIRE = 1.1
"""Wire to buy over wire that is needed (common practice, no source)."""

Row = tuple[str, str, str]


def parts_sheet(machine: Machine, forecast: Forecast | None = None) -> Sheet:
    """Actuators, switching, protection, wire, control and items, each with what it must be."""
    tables = tuple(
        Table(title, HEAD, rows, figures=(0,))
        for title, rows in (
            ("Actuators", tuple(_coils(machine))),
            ("Switching", tuple(_switching(machine))),
            ("Protection", tuple(_protection(machine, forecast))),
            ("Wire and connectors", tuple(_wire(machine))),
            ("Control and supply", tuple(_control(machine))),
            ("Items", tuple(_items(machine))),
        )
        if rows
    )
    told = ("For one machine. Spares are on a sheet of their own.",)
    return Sheet("parts", f"Parts of {machine.name}", told, tables, (), (CODES_DECIDE,))


def _by_coil(machine: Machine) -> dict[Coil, int]:
    return dict(Counter(actuator.coil for actuator in machine.actuators))


def _coils(machine: Machine) -> Iterator[Row]:
    for coil, count in _by_coil(machine).items():
        words = [
            "latching solenoid, two positions",
            f"{coil.voltage_mv / 1000:g} V",
            f"{coil.resistance_mohm / 1000:g} ohm",
            f"pulse {coil.pulse_us / 1000:g} ms",
        ]
        words += [f"duty at least {coil.duty_ppm / 10_000:g} %"] if coil.duty_ppm else []
        yield str(count), f"actuator {coil.name}", ", ".join(words)


def _drives(machine: Machine) -> list[Drive]:
    return list({id(a.drive): a.drive for a in machine.actuators}.values())


def _switching(machine: Machine) -> Iterator[Row]:
    relays: Counter[tuple[str, str]] = Counter()
    bridges: Counter[str] = Counter()
    for actuator in machine.actuators:
        drive, coil = actuator.drive, actuator.coil
        if drive.relay is not None:
            need = f"changeover contact, {_amperes(coil.current_ua)} A d.c. or more, switching life"
            relays[drive.relay.name, need] += len(actuator.outputs)
        elif drive.kind is DriveKind.BRIDGE:
            bridges[f"full bridge, {_amperes(actuator.peak_ua)} A or more for a pulse"] += 1
    for (name, need), count in relays.items():
        yield str(count), f"relay {name}", need
    for need, count in bridges.items():
        yield str(count), "bridge", need
    for drive in _drives(machine):
        yield from _shared(machine, drive)


def _shared(machine: Machine, drive: Drive) -> Iterator[Row]:
    """What all actuators of a drive share."""
    own = [actuator for actuator in machine.actuators if actuator.drive is drive]
    if drive.reverser is not None and drive.relay is not None:
        yield "1", f"relay {drive.relay.name}", "double pole, as reverser of the rail"
    if drive.switch is not None:
        most = _amperes(sum(actuator.peak_ua for actuator in own))
        yield "1", "pulse switch", f"solid-state switch in the rail, up to {most} A"
    if drive.kind is DriveKind.MATRIX:
        rows = {actuator.outputs[0] for actuator in own}
        columns = {actuator.outputs[1] for actuator in own}
        yield str(len(rows)), "high switch of a row", "solid state"
        yield str(len(rows)), "low switch of a row", "solid state"
        yield str(len(columns)), "half bridge of a column", "solid state"
        yield str(2 * len(own)), "diode", "for a coil's pulse current, two at each crossing"


def _protection(machine: Machine, forecast: Forecast | None) -> Iterator[Row]:
    for coil, count in _by_coil(machine).items():
        kind = coil.suppression.value if coil.suppression else "bidirectional suppressor"
        yield str(count), kind, f"across each coil {coil.name}, close to it; no plain diode"
        yield (
            str(count),
            "fuse or thermal cut-off",
            f"for each coil {coil.name}, against being held on",
        )
    for supply in forecast.supplies if forecast else ():
        if supply.fuse is not None:
            words = f"{supply.fuse.words}, in the lead of supply {supply.supply.name}"
            yield "1", "fuse", words
    yield "1", "emergency stop", "cuts the coils and not the logic"


def _wire(machine: Machine) -> Iterator[Row]:
    lengths: Counter[int] = Counter()
    untold: Counter[str] = Counter()
    for actuator in machine.actuators:
        lead = actuator.coil.lead
        if lead is None:
            untold[actuator.coil.name] += 1
        else:
            lengths[lead.area_um2] += 2 * lead.length_mm
    for area_um2, length_mm in sorted(lengths.items()):
        metres = math.ceil(length_mm * SPARE_WIRE / 1000)
        yield f"{metres} m", "wire", f"{area_um2 / MILLION:.2g} mm2 copper, to the coils and back"
    for coil, count in untold.items():
        yield str(2 * count), "wire", f"to coils {coil}, length and area not declared"
    yield str(len(machine.actuators)), "connector, two poles", "one for each coil, keyed"
    for bus in machine.buses:
        poles = f"{bus.bits} signals" if not bus.shift_register else "data, clock, latch, enable"
        yield "1", f"cable of bus {bus.name}", f"{poles}, logic supply and ground"


def _control(machine: Machine) -> Iterator[Row]:
    yield "1", "controller", f"for {machine.width} outputs; `seqc build --list` names the kinds"
    for bus in machine.buses:
        if bus.shift_register:
            count = -(-bus.bits // BITS_A_REGISTER)
            yield str(count), "shift register", f"{BITS_A_REGISTER} bits, bus {bus.name}"
    for supply in machine.supplies:
        words = (
            f"{supply.voltage_mv / 1000:g} V, {supply.limit_ua / MILLION:g} A or more, isolating"
        )
        yield "1", f"supply {supply.name}", words


def _items(machine: Machine) -> Iterator[Row]:
    for item in machine.items:
        words = [item.tone] if item.tone else []
        words += [f"{item.diameter_um / 1000:g} mm"] if item.diameter_um else []
        count = "?" if item.stock is None else f"{item.stock:,}"
        yield count, item.name, ", ".join(words) or "as declared"


def _amperes(ua: int) -> str:
    """A current that must be borne, rounded up to a tenth."""
    return f"{math.ceil(ua / MILLION * 10) / 10:g}"
