"""What goes wrong in a replay, and what happened on the way."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from seqc.machine.parts import Cell


class FaultKind(StrEnum):
    """A stable word for everything that a replay can find wrong."""

    BAD_TABLE = "bad-table"
    UNWIRED_OUTPUT = "unwired-output"
    LEFT_ACTIVE = "left-active"
    LEFT_THROWN = "left-thrown"
    LEFT_MOVING = "left-moving"
    LEFT_WAITING = "left-waiting"
    BOTH_POLARITIES = "both-polarities"
    PULSE_TOO_SHORT = "pulse-too-short"
    PULSE_TOO_LONG = "pulse-too-long"
    PULSE_TOO_SOON = "pulse-too-soon"
    DEAD_TIME = "dead-time"
    OVERLOAD = "overload"
    SWITCHED_UNDER_LOAD = "switched-under-load"
    REVERSED_UNDER_LOAD = "reversed-under-load"
    SELECTOR_UNDER_OPEN_GATE = "selector-under-open-gate"
    SELECTOR_BEFORE_GATES = "selector-before-gates"
    SELECTOR_NOT_SETTLED = "selector-not-settled"
    SELECTOR_NOT_KNOWN = "selector-not-known"
    RETURN_TOO_SOON = "return-too-soon"
    THROW_TOO_SOON = "throw-too-soon"
    ITEM_NOT_STILL = "item-not-still"
    ARRIVES_AT_FULL_PLACE = "arrives-at-full-place"
    ARRIVES_AT_OPEN_GATE = "arrives-at-open-gate"
    EMPTY_MAGAZINE = "empty-magazine"
    WRONG_KIND = "wrong-kind"
    WRONG_START = "wrong-start"


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that goes wrong: when (from the start of the replay), in which table, and what.

    `into_us` is the time from the start of the table. `actuator` is the name of the actuator,
    `grid` and `cell` are the place that the fault is about, where there is one. `by_us` is how much
    time is missing, where a time falls short.
    """

    kind: FaultKind
    at_us: int
    table: str
    what: str
    actuator: str = ""
    grid: str = ""
    cell: Cell | None = None
    into_us: int = 0
    by_us: int = 0

    def moved(self, by_us: int, table: str) -> Fault:
        """The same fault in a table of that name, which starts at that time."""
        return replace(self, at_us=self.at_us + by_us, table=table, into_us=self.at_us)

    def __str__(self) -> str:
        when = f"{milliseconds(self.into_us)} into it, {milliseconds(self.at_us)} from power-on"
        return f"{self.table}, {when}: {self.kind}: {self.what}"


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happens: at a time from the start of the replay, to what, and what it is now.

    | `what`     | `name`            | `number` | `state`                                         |
    |------------|-------------------|----------|-------------------------------------------------|
    | `relay`    | the output        | output   | `closed`, `open`                                |
    | `coil`     | the actuator      | its index| `forward`, `reverse`, `off`                     |
    | `position` | the actuator      | its index| `to rest`, `to thrown`, `rest`, `thrown`, `lost`|
    | `flight`   | a place of a cell | cell     | the kind of the item that sets out for it       |
    | `item`     | a place of a cell | cell     | the kind, or empty                              |

    `place` is the number of the place of an item in its lane, from 1 at the top.
    """

    at_us: int
    what: str
    name: str
    number: int
    state: str
    place: int = 0

    def moved(self, by_us: int) -> Event:
        """The same event `by_us` later."""
        return replace(self, at_us=self.at_us + by_us)


def milliseconds(us: int) -> str:
    """A time in milliseconds, with as many decimals as it needs."""
    whole, rest = divmod(abs(us), 1000)
    decimals = f".{rest:03}".rstrip("0") if rest else ""
    return f"{'-' if us < 0 else ''}{whole}{decimals} ms"


def amperes(ua: int) -> str:
    """A current in amperes, to the milliampere, rounded."""
    return f"{ua / 1_000_000:.3f} A"
