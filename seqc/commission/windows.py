"""What tuning has found: for each setting the values that were right, a window, and a proposal."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from itertools import groupby
from pathlib import Path
from typing import NamedTuple

from seqc.commission.record import Entry
from seqc.machine.findings import Place
from seqc.machine.model import Machine
from seqc.schedule.commissioning import Named, Trait

MARGIN = 0.15
"""A proposed value is so much of the window's edge within it, where the window is wide enough."""

MILLISECOND = 1_000


class Tried(NamedTuple):
    """A value that was played, and how often the last frame was right, of how many times."""

    trait: Trait
    right: int
    times: int

    @property
    def is_right(self) -> bool:
        """Whether it always was."""
        return self.right == self.times > 0


class Window(NamedTuple):
    """The values of one setting that were tried, from low to high.

    `low` and `high` are the ends of the row of right values around the declared one, or the longest
    such row; None where none was right. `proposed` lies within, away from the end that fails.
    """

    tried: tuple[Tried, ...]
    low: Trait | None
    high: Trait | None
    proposed_us: int | None

    @property
    def subject(self) -> str:
        """What is tuned."""
        return self.tried[0].trait.subject


def windows(named: Iterable[Named], entries: Sequence[Entry]) -> tuple[Window, ...]:
    """The window of each setting of which any value was judged."""
    judged: dict[str, list[bool]] = {}
    for entry in entries:
        if entry["what"] == "judged" and isinstance(entry.get("right"), bool):
            judged.setdefault(str(entry.get("table")), []).append(bool(entry["right"]))
    tried = [
        Tried(one.trait, sum(judged[one.name]), len(judged[one.name]))
        for one in named
        if one.trait and one.name in judged
    ]
    ordered = sorted(tried, key=lambda one: (one.trait.subject, one.trait.value_us))
    rows = (tuple(row) for _, row in groupby(ordered, key=lambda one: one.trait.subject))
    return tuple(_window(row) for row in rows)


def _window(row: tuple[Tried, ...]) -> Window:
    runs = [list(run) for right, run in groupby(row, key=lambda one: one.is_right) if right]
    if not runs:
        return Window(row, None, None, None)
    run = max(runs, key=len)
    low, high = run[0].trait, run[-1].trait
    return Window(row, low, high, _proposed(row, low.value_us, high.value_us))


def _proposed(row: Sequence[Tried], low_us: int, high_us: int) -> int:
    """Near the quick end of the window, with a margin to what failed; in whole milliseconds."""
    fails_below = any(one.trait.value_us < low_us for one in row)
    wanted = low_us * (1 + MARGIN) if fails_below else low_us
    fails_above = any(one.trait.value_us > high_us for one in row)
    most = high_us * (1 - MARGIN) if fails_above else high_us
    value = min(wanted, most) if most >= low_us else (low_us + high_us) / 2
    return max(low_us, min(-(-int(value) // MILLISECOND) * MILLISECOND, high_us))


def line_to_paste(machine: Machine, window: Window) -> tuple[Place, str] | None:
    """Where the machine file declares the setting, and the line as it should be."""
    place = _place_of(machine, window.tried[0].trait)
    if place is None or window.proposed_us is None:
        return None
    value = f"{window.proposed_us / MILLISECOND:.10g} ms"
    setting = window.tried[0].trait.setting
    pattern = re.compile(rf"\b{setting}\s+[0-9.]+\s*[a-zµ]+")
    try:
        lines = Path(place.file).read_text("utf-8").splitlines()
    except (OSError, UnicodeDecodeError):
        return None
    for number, line in enumerate(lines[place.line - 1 :], place.line):
        if pattern.search(line):
            changed = pattern.sub(f"{setting} {value}", line, count=1)
            return Place(place.file, number, 1), changed.strip()
        if "}" in line:
            break
    return place, f"{setting} {value}"


def _place_of(machine: Machine, trait: Trait) -> Place | None:
    if trait.statement == "coil":
        places = (a.coil.place for a in machine.actuators if a.coil.name == trait.name)
    elif trait.statement == "gate":
        places = (gate.place for gate in machine.gates if gate.name == trait.name)
    else:
        places = (one.place for one in machine.programmes if one.name == trait.name)
    return next(places, None)
