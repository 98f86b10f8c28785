"""The wiring sheet: what hangs on each output, to be ticked terminal by terminal."""

from __future__ import annotations

from seqc.codegen.wiring_list import Connection, WiringList
from seqc.machine.cautions import CODES_DECIDE, SUPPLY_OFF
from seqc.machine.model import Machine
from seqc.report.sheets.sheet import Sheet, Table
from seqc.report.words import ranges

HEAD = ("output", "bit", "actuator", "to", "terminal", "polarity")


def wiring_sheet(machine: Machine) -> Sheet:
    """A table of outputs for each bus; spare ones are told in a line."""
    connections = WiringList(machine).connections
    spare = [c.output for c in connections if c.driver_input == "spare"]
    tables = tuple(
        Table(
            f"{bus.name}: {bus.bits} bits, active {'low' if bus.active_low else 'high'}",
            HEAD,
            tuple(_row(c) for c in connections if c.bus == bus.name and c.driver_input != "spare"),
        )
        for bus in machine.buses
    )
    told = (
        "Outputs count from 0. Terminal A of a coil is the one that is positive when it drives to "
        "thrown.",
        f"Spare outputs: {ranges(spare) or 'none'}.",
    )
    return Sheet(
        "wiring", f"Wiring of {machine.name}", told, tables, (), (SUPPLY_OFF, CODES_DECIDE)
    )


def _row(connection: Connection) -> tuple[str, ...]:
    to = connection.relay or connection.driver_input
    return (
        str(connection.output),
        str(connection.bus_bit),
        connection.actuator,
        to,
        connection.coil_terminal,
        connection.polarity,
    )
