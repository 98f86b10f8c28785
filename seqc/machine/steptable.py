"""The step table: the whole schedule as the controller sees it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

MOST_TABLES = 0xFFFE
"""So many tables a build holds, home and clear not counted."""

TOO_MANY_TABLES = "too-many-tables"

LONGEST_HOLD_US = 70 * 60_000_000
"""A step lasts no longer: less than a clock of 32 bits tells, by more than a minute for a
controller that looks late."""


@dataclass(frozen=True, slots=True)
class Step:
    """From `at_us` on, counted from the start of its table, the outputs have the levels in `word`.

    Bit n of the word is the level of output n: an active-low output is active where its bit is 0.
    """

    at_us: int
    word: int


@dataclass(frozen=True, slots=True)
class StepTable:
    """One run of steps; the next table may start `length_us` after this one.

    `name` is unique in its build. `shows` is the frame that is seen when the table has run, as
    pairs of grid and glyph name; `after` is the frame that must be seen before it, if that
    matters. The first step is at 0.
    """

    name: str
    steps: tuple[Step, ...]
    length_us: int
    shows: tuple[tuple[str, str], ...] = ()
    after: tuple[tuple[str, str], ...] = ()


class TablesFor(Enum):
    """What each table of a build is for."""

    GLYPH = "glyph"
    TRANSITION = "transition"
    PROGRAMME = "programme"
    COMMISSIONING = "commissioning"


@dataclass(frozen=True, slots=True)
class TableSet:
    """All tables of one build.

    `width` is the number of outputs, `idle_word` the levels at which none is active. `home` comes
    before anything else. `slack_us` is how long a pulse may be held beyond its time before it is
    longer than its coil bears. A programme runs `tables` in order; where it repeats, the table
    after the last is number `repeat_from`. `spare_us` is how much sooner than `length_us` after the
    last the next table of a programme may start, so that the cadence is kept after a late poll.
    `clear`, where there is one, comes between home and the first other table: it lets items go that
    an interrupted load left waiting, which home must not.
    """

    machine: str
    tables_for: TablesFor
    width: int
    idle_word: int
    slack_us: int
    home: StepTable
    tables: tuple[StepTable, ...]
    repeat_from: int | None = None
    spare_us: int = 0
    clear: StepTable | None = None

    def __iter__(self) -> Iterator[StepTable]:
        """Home, the clear table if there is one, then every table."""
        return iter((self.home, *([self.clear] if self.clear else []), *self.tables))
