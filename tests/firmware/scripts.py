"""Builds and scripts that together run every branch of the player."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from unittest.mock import patch

from firmware.handmade import frame, machine_of, table, table_set
from firmware.host import target
from seqc.codegen import render
from seqc.machine.steptable import Step, StepTable, TableSet, TablesFor

MACHINE = machine_of(8, low=True)
IDLE = MACHINE.idle_word
READY = ("home", "play 0 999")


@dataclass(frozen=True)
class Case:
    """A table set, refused by our checks or not, and a script for its player.

    One byte of its image is changed where `flip` says which.
    """

    tables: TableSet
    script: Sequence[str]
    flip: int | None = None

    def files(self) -> dict[str, str]:
        """The files of the build."""
        with patch("seqc.codegen.rendering.check"):
            files = render(target("c99"), MACHINE, self.tables)
        if self.flip is not None:
            name = "seqc_tables.c"
            files[name] = damaged(files[name], self.flip, 3)
        return files


def every_branch() -> Iterator[Case]:
    """Cases that together run every line and branch of the player and of its line protocol."""
    yield Case(shown(clear=True), [*SHOWING, *TALKING])
    yield Case(shown(clear=False), [*SHOWING, *LATE])
    yield Case(shown(clear=False), [*READY, "show 0", "state", *["watch"] * 6], flip=3)
    yield Case(shown(StepTable("both", (Step(0, IDLE ^ 3), Step(9, IDLE)), 99, frame("0"))), FIRST)
    yield Case(chained(), [*READY, "show 1", *steps(0, 1, 2, 1, 0, 2), "seen", "hear status"])
    yield Case(in_turn(repeat_from=1), RUNNING)
    yield Case(replace(in_turn(repeat_from=0), clear=table(MACHINE, "clear", [7])), RUNNING)
    yield Case(in_turn(repeat_from=None), [*READY, "run", "play 0 999", "state"])
    waiting = replace(shown(clear=True), tables_for=TablesFor.COMMISSIONING)
    yield Case(waiting, WAITING)
    lit = StepTable("lit", (Step(0, IDLE ^ 1),), 9, frame("0"))
    yield Case(replace(in_turn(None), tables=(lit,)), [*READY, "run", "play 0 99", "state"])
    yield Case(replace(in_turn(0), tables=(lit, *in_turn(0).tables)), RUNNING)


FIRST = [*READY, "show 0", "play 0 99", "state"]
SHOWING = [
    "state",
    "show 1",
    "poll 9",
    *READY,
    *["watch"] * 6,
    "show 9",
    "show 1",
    "show 1",
    "play 5 99",
]
SHOWING += ["seen", "show 0", "play 0 3", "stop", "show 1", "state", "sum", *READY, "show 2"]
SHOWING += ["play 0 2", "poll 400000000", "state", *READY]
LATE = ["show 0", "play 0 1", "play 19000 1", "play 19000 9", "state", *READY, "show 0"]
LATE += ["play 0 2", "play 30000 1", "state"]
TALKING = ["hear status", "hear show 1", "hear show 0", "play 0 99", "hear status", "hear show x"]
TALKING += ["hear show", "hear show 12 ", "hear shot 1", "hear show/1", "hear show 99999", "hear "]
TALKING += ["hear show 0123456789012345678", "hear show 999999999", "hear st", "hear stop", "hear "]
TALKING += ["hear run", "hear show 1", "hear home", "hear homes", "play 0 99", "hear status"]
LATE += [*READY, "show 0", "play 0 2", "fail 7", "fail 7", "refresh", *READY]
TALKING += ["hear 7:show 0", "hear 7:status;5B", "hear status;00", "hear status all", "play 0 99"]
TALKING += ["hear identify", "hear notify on", "serve", "hear stop", "serve", "hear notify off"]
TALKING += ["hear timeout 1", "hear timeout x", "hear timeout 999", "ticks 2000000", "serve"]
TALKING += ["lose", "hear status", "hear st!status", "hear advance", "hear home", "play 0 99"]
TALKING += ["hear advance", "play 0 99", "hear advance", "play 0 99", "hear status;GG", "hear :x"]
WAITING = ["state", "hear status all", *["watch"] * 3, "hear show 0", "fail 7", "state"]
WAITING += ["poll 9000000", "state", "hear home", "play 0 999", "state", "hear show 2", "play 0 99"]
WAITING += ["seen", "hear show 1", "play 0 2", "fail 7", "poll 99000000", "state", "hear stop"]
WAITING += ["hear identify", "hear home", "play 0 999", "hear advance", "play 0 99", "seen"]
RUNNING = ["run", *READY, "resume", "run", "run", "play 90 30", "pause", "play 0 99", "state"]
RUNNING += ["resume", "play 9999 30", "poll 4000000000", "hear status", "hear run", "hear pause"]
RUNNING += ["play 0 99", "hear status", "hear resume", "hear show 1", "hear what", "stop", *READY]
RUNNING += ["hear advance", "hear status all", "pause", "play 0 99", "hear advance", "play 0 99"]
RUNNING += ["hear run", "play 100000 40", "hear stop", "hear home", "hear resume", "play 0 9"]


def steps(*frames: int) -> list[str]:
    """Shows frames one after the other."""
    return [line for number in frames for line in (f"show {number}", "play 0 99")]


def shown(*tables: StepTable, clear: bool = False) -> TableSet:
    """A table for each of some glyphs."""
    made = tables or tuple(
        table(MACHINE, f"show {n}", [n, n + 2], shows=frame(str(n))) for n in range(3)
    )
    extra = table(MACHINE, "clear", [7]) if clear else None
    home = table(MACHINE, "home", [1])
    return replace(table_set(MACHINE), home=home, tables=made, clear=extra)


def chained() -> TableSet:
    """Tables for transitions, and one from anywhere."""
    tables = (
        table(MACHINE, "any to 0", [0], shows=frame("0")),
        table(MACHINE, "0 to 1", [2], shows=frame("1"), after=frame("0")),
        table(MACHINE, "1 to 2", [4], shows=frame("2"), after=frame("1")),
        table(MACHINE, "1 to 0", [6], shows=frame("0"), after=frame("1")),
    )
    return replace(table_set(MACHINE, TablesFor.TRANSITION), tables=tables)


def in_turn(repeat_from: int | None) -> TableSet:
    """A programme of three ticks."""
    tables = tuple(
        replace(table(MACHINE, f"tick {n}", [n], shows=frame(str(n))), length_us=200_000)
        for n in range(3)
    )
    made = table_set(MACHINE, TablesFor.PROGRAMME)
    home = table(MACHINE, "home", [1])
    return replace(made, home=home, tables=tables, repeat_from=repeat_from, spare_us=1_000)


def damaged(header: str, at: int, bit: int) -> str:
    """A header of tables with one bit of the image turned over."""
    head, mark, image = header.partition("seqc_image[SEQC_IMAGE_BYTES]")
    place = [n for n in range(len(image)) if image.startswith("0x", n)][at]
    byte = int(image[place + 2 : place + 4], 16) ^ 1 << bit
    return f"{head}{mark}{image[: place + 2]}{byte:02X}{image[place + 4 :]}"
