"""A value change dump (IEEE 1364, clause 18) of what the tables do."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from seqc.codegen.names import identifiers
from seqc.codegen.wave import Change, Signal, changes, length_us
from seqc.codegen.wiring_uses import output_uses
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet

FIRST_SIGN, LAST_SIGN = 33, 126
NUMBER_BITS = 32


@dataclass(frozen=True, slots=True)
class Variable:
    """A variable of the dump: `code` is the short name that its changes carry."""

    signal: Signal
    index: int
    name: str
    bits: int
    code: str

    @property
    def declaration(self) -> str:
        """The line that declares it."""
        span = f" [{self.bits - 1}:0]" if self.bits > 1 else ""
        kind = "integer" if self.bits == NUMBER_BITS else "wire"
        return f"$var {kind} {self.bits} {self.code} {self.name}{span} $end"

    @property
    def unknown(self) -> str:
        """The line that says that its value is not known."""
        return f"x{self.code}" if self.bits == 1 else f"bx {self.code}"

    def value(self, value: int) -> str:
        """The line that gives it a value."""
        return f"{value}{self.code}" if self.bits == 1 else f"b{value:b} {self.code}"


@dataclass(frozen=True)
class Dump:
    """A value change dump as its template lays it out."""

    machine: Machine
    table_set: TableSet

    @property
    def scopes(self) -> tuple[tuple[str, tuple[Variable, ...]], ...]:
        """The scopes and their variables."""
        actuators = identifiers([actuator.name for actuator in self.machine.actuators])
        named = {
            "markers": [(Signal.TABLE, "table", NUMBER_BITS), (Signal.PASS, "pass", NUMBER_BITS)],
            "outputs": [(Signal.OUTPUT, name, 1) for name in self._output_names()],
            "coils": [(Signal.COIL, name, 2) for name in actuators],
            "positions": [(Signal.POSITION, name, 1) for name in actuators],
        }
        codes = _codes()
        return tuple(
            (
                scope,
                tuple(
                    Variable(signal, 0 if scope == "markers" else rank, name, bits, next(codes))
                    for rank, (signal, name, bits) in enumerate(entries)
                ),
            )
            for scope, entries in named.items()
        )

    @property
    def lines(self) -> Iterator[str]:
        """The initial values, then every change under its time, then the end."""
        variables = {(v.signal, v.index): v for _, group in self.scopes for v in group}
        yield "$dumpvars"
        yield from (variable.unknown for variable in variables.values())
        yield "$end"
        before = -1
        for change in self._dumped():
            if change.at_us != before:
                yield f"#{change.at_us}"
                before = change.at_us
            yield variables[change.signal, change.index].value(change.value)
        if before < length_us(self.table_set):
            yield f"#{length_us(self.table_set)}"

    def _dumped(self) -> Iterator[Change]:
        return changes(self.machine, self.table_set)

    def _output_names(self) -> tuple[str, ...]:
        uses = output_uses(self.machine)
        labels = []
        for output in range(self.machine.width):
            words = [f"{name}.{role}" for name, role in uses.get(output, ())]
            labels.append(".".join([f"output{output}", *words]))
        return identifiers(labels)


def _codes() -> Iterator[str]:
    """Short names of printable signs: `!`, `"`, ... `~`, `!!`, and so on."""
    base = LAST_SIGN - FIRST_SIGN + 1
    number = 0
    while True:
        code = ""
        rest = number
        while rest or not code:
            code += chr(FIRST_SIGN + rest % base)
            rest //= base
        yield code
        number += 1
