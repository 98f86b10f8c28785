"""The tables of commissioning by name, the steps of bring-up, and what each table is of."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property
from typing import NamedTuple

from seqc.machine.glyphs import Frame, Glyph, Programme
from seqc.machine.model import Machine
from seqc.machine.parts import Gate
from seqc.machine.steptable import StepTable, TableSet
from seqc.schedule.tables import names_apart, slack_us

REPEATS_EVERY_US = 1_000_000


class Step(StrEnum):
    """The steps of bring-up, in order."""

    ACTUATORS = "actuators"
    LANES = "lanes"
    KINDS = "kinds"
    TESTS = "test frames"
    GLYPHS = "glyphs"
    PROGRAMME = "programme"
    TUNING = "tuning"
    DRAINING = "draining"
    PARKING = "parking"


class Trait(NamedTuple):
    """A value that tuning steps: a setting of a part or coil, or the cadence of a programme."""

    statement: str
    name: str
    setting: str
    value_us: int

    @property
    def subject(self) -> str:
        """What is tuned, without its value."""
        return " ".join(word for word in (self.statement, self.name, self.setting) if word)


@dataclass(frozen=True, eq=False)
class Named:
    """A table with what it is for; `grid` is empty where it moves the whole board.

    `shows` are the pictures that it ends with, where it says. `machine` is the one that it is
    proven on: the declared one, or for tuning the one with `trait` in place of what is declared.
    `actuator` is the one that a table of the first step moves.
    """

    step: Step
    grid: str
    table: StepTable
    machine: Machine
    shows: tuple[Glyph, ...] = ()
    trait: Trait | None = None
    actuator: int | None = None

    @property
    def name(self) -> str:
        """The name of its table."""
        return self.table.name


@dataclass(frozen=True)
class Commissioning:
    """Every table for bringing a machine up, in order; what couldn't be made is `left_out`.

    `frame` is a table set without tables: home, the clear table and what else the tables share.
    """

    machine: Machine
    frame: TableSet
    named: tuple[Named, ...]
    left_out: tuple[str, ...] = ()

    @cached_property
    def table_set(self) -> TableSet:
        """The set that a controller plays by number."""
        return replace(
            self.frame,
            tables=tuple(one.table for one in self.named),
            slack_us=min((slack_us(m) for m in self.machines), default=self.frame.slack_us),
        )

    @property
    def machines(self) -> tuple[Machine, ...]:
        """The declared machine, and each with a value of tuning in place of the declared."""
        found = {id(one.machine): one.machine for one in self.named}
        return tuple(({id(self.machine): self.machine} | found).values())

    @property
    def wanted(self) -> Programme:
        """The pictures that its tables end with, for the simulator to judge them by."""
        frames = tuple(Frame(one.shows) for one in self.named if one.shows)
        return Programme("commissioning", frames, REPEATS_EVERY_US)

    def part(self, named: Iterable[Named]) -> Commissioning:
        """The same machine with some of the tables."""
        return replace(self, named=tuple(named))

    def number_of(self, name: str) -> int | None:
        """The number by which a controller plays a table; None if it isn't in this set."""
        return next((n for n, one in enumerate(self.named) if one.name == name), None)


def without_clashes(named: Sequence[Named]) -> tuple[Named, ...]:
    """The tables, those of a name that came before given a number."""
    found = []
    for one, name in zip(named, names_apart(one.name for one in named), strict=True):
        shows = tuple(replace(glyph, name=f"{name} {glyph.grid}") for glyph in one.shows)
        table = replace(one.table, name=name, shows=tuple((g.grid, g.name) for g in shows))
        found.append(replace(one, table=table, shows=shows))
    return tuple(found)


def is_metering(machine: Machine, number: int) -> bool:
    """Whether an actuator moves a metering gate, so that its cycle brings new items."""
    actuator = machine.actuators[number]
    metering = machine.lane_of(actuator.grid.name).metering
    return isinstance(actuator.part, Gate) and actuator.part.name == metering.name
