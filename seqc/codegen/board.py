"""How the outputs of a machine meet the pins of a controller.

Buses declared as shift registers make one chain: output `first` is the first pin of its first
register. The outputs of other buses are pins of the controller, in the order in which its target
names them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from seqc.codegen.names import note
from seqc.codegen.target import Option
from seqc.machine.electrics import Bus
from seqc.machine.findings import Findings, InputError
from seqc.machine.model import Machine

MOST_EXPANDERS = 8
"""A port expander has three address pins (makers' data sheets, from memory)."""


@dataclass(frozen=True, slots=True)
class Pin:
    """An output on a pin of its own; `byte` and `mask` are where the word has it."""

    output: int
    name: str
    note: str

    @property
    def byte(self) -> int:
        """The byte of the word."""
        return self.output // 8

    @property
    def mask(self) -> int:
        """The bit in that byte."""
        return 1 << self.output % 8

    @property
    def port(self) -> str:
        """The letter of the port, where the pin has a name like `PD2`."""
        return self.name[1:2]

    @property
    def bit(self) -> str:
        """The number of the bit on that port."""
        return self.name[2:]


@dataclass(frozen=True, slots=True)
class Chain:
    """Outputs on a row of 8-bit registers or expanders."""

    first: int
    bits: int
    word_bytes: int

    @property
    def length(self) -> int:
        """How many registers."""
        return (self.bits + 7) // 8

    @property
    def aligned(self) -> bool:
        """Whether each register has a byte of the word to itself."""
        return self.first % 8 == 0

    @property
    def bytes(self) -> Iterator[str]:
        """The byte for each register, the first one first, as an expression of the word in C."""
        for rank in range(self.length):
            at, shift = divmod(self.first + 8 * rank, 8)
            if not shift:
                yield f"word[{at}]"
            elif at + 1 < self.word_bytes:
                yield f"(uint8_t)(word[{at}] >> {shift} | word[{at + 1}] << {8 - shift})"
            else:
                yield f"(uint8_t)(word[{at}] >> {shift})"


@dataclass(frozen=True)
class Board:
    """The pins and the chain of a build; raises InputError where they can't be had."""

    machine: Machine
    options: Mapping[str, Option]
    word_bytes: int

    @cached_property
    def chain(self) -> Chain | None:
        """The chain of all buses that are shift registers, or None without one."""
        buses = [bus for bus in self.machine.buses if bus.shift_register]
        if not buses:
            return None
        self._check_together(buses)
        chain = Chain(buses[0].first, sum(bus.bits for bus in buses), self.word_bytes)
        if self.options.get("chain") == "i2c":
            self._check_expanders(chain, buses)
        return chain

    @cached_property
    def pins(self) -> tuple[Pin, ...]:
        """Every output that has a pin of its own."""
        free = str(self.options.get("pins", "")).split()
        if self.chain:
            taken = str(self.options.get("chain_pins", "")).split()
            free = [name for name in free if name not in taken]
        outputs = [
            (bus.first + bit, f"{bus.name} {bit}")
            for bus in self.machine.buses
            if not bus.shift_register
            for bit in range(bus.bits)
        ]
        self._check_enough(outputs, free)
        return tuple(
            Pin(output, name, note(label))
            for (output, label), name in zip(outputs, free, strict=False)
        )

    @property
    def ports(self) -> dict[str, tuple[Pin, ...]]:
        """The pins by the letter of their port."""
        found: dict[str, list[Pin]] = {}
        for pin in self.pins:
            found.setdefault(pin.port, []).append(pin)
        return {port: tuple(pins) for port, pins in sorted(found.items())}

    def _check_together(self, buses: Sequence[Bus]) -> None:
        findings = Findings()
        end = buses[0].first
        for bus in buses:
            if bus.first != end:
                findings.error(
                    "chain-in-two",
                    f"bus {bus.name} is a shift register, but another bus stands between it and "
                    "the first",
                    bus.place,
                    "declare the shift registers one after the other: they make one chain",
                )
            end = bus.first + bus.bits
        if findings.has_errors:
            raise InputError(findings)

    def _check_expanders(self, chain: Chain, buses: Sequence[Bus]) -> None:
        findings = Findings()
        if chain.length > MOST_EXPANDERS:
            findings.error(
                "too-many-expanders",
                f"{chain.bits} outputs take {chain.length} port expanders, and their addresses "
                f"serve {MOST_EXPANDERS}",
                buses[0].place,
                "use shift registers",
            )
        for bus in buses:
            if not bus.active_low:
                findings.error(
                    "active-at-power-on",
                    f"bus {bus.name} is active high, but port expanders have every pin high from "
                    "power-on until they are first written to",
                    bus.place,
                    "use drivers that are active low, or shift registers with an output enable",
                )
        if findings.has_errors:
            raise InputError(findings)

    def _check_enough(self, outputs: Sequence[tuple[int, str]], free: Sequence[str]) -> None:
        if len(outputs) <= len(free):
            return
        bus = next(bus for bus in self.machine.buses if not bus.shift_register)
        findings = Findings()
        findings.error(
            "too-few-pins",
            f"{len(outputs)} outputs need a pin of their own, and the controller has {len(free)}",
            bus.place,
            "declare the bus as a shift register",
        )
        raise InputError(findings)
