"""Times, actuators and lines as people read them."""

from __future__ import annotations

import re
import shutil
import sys
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from itertools import groupby

from seqc.machine.electrics import ceil_div
from seqc.machine.wiring import Actuator

PIPE_COLUMNS = 80
LEAST_COLUMNS = 40
UNIT = re.compile(r"(\d) (?=(?:%|[mk]?W?[smhdgVAKC]|mm|deg|ohm)(?:\W|$))")
LONGEST_MS_US = 10_000_000

NOUNS = {"r": "row", "c": "column"}
PLACE = re.compile(r"([rc])(\d+)")
COPY = re.compile(r"_[1-9][0-9]*$")


_TO_THE_MICROSECOND = ContextVar("to_the_microsecond", default=False)


@contextmanager
def to_the_microsecond() -> Iterator[None]:
    """Within this, times are printed in microseconds and not rounded."""
    before = _TO_THE_MICROSECOND.set(True)
    try:
        yield
    finally:
        _TO_THE_MICROSECOND.reset(before)


def ms(time_us: int) -> str:
    """A time that must be enough, rounded up: in milliseconds, from 10 s on in seconds."""
    if _TO_THE_MICROSECOND.get():
        return f"{time_us:,} us"
    if time_us < LONGEST_MS_US:
        return f"{ceil_div(time_us, 1000)} ms"
    return f"{ceil_div(time_us, 10_000) / 100:,.2f} s"


def asked(time_us: int) -> str:
    """A time as it may have been declared, exact: `1 s`, `458.5 ms`."""
    if time_us % 1_000_000 == 0 and time_us:
        return f"{time_us // 1_000_000} s"
    return f"{time_us / 1000:.3f}".rstrip("0").rstrip(".") + " ms"


def actuators_words(actuators: Iterable[Actuator]) -> str:
    """Actuators by their parts, rows and columns as ranges: `pick rows 1-4, 6; swap`."""
    parts = groupby(actuators, lambda actuator: actuator.part.name)
    return "; ".join(_part_words(part, [_label(each) for each in some]) for part, some in parts)


def _label(actuator: Actuator) -> str:
    """What is behind the part in an actuator's name; nothing where it moves the whole grid."""
    return actuator.name.rpartition(f"{actuator.part.name}")[2].removeprefix(".")


def _part_words(part: str, labels: Sequence[str]) -> str:
    found = [PLACE.fullmatch(label) for label in labels]
    kinds = {match[1] for match in found if match}
    numbers = sorted(int(match[2]) for match in found if match)
    if len(kinds) != 1 or len(numbers) < len(labels):
        return " ".join([part, ", ".join(label for label in labels if label)]).strip()
    noun = NOUNS[kinds.pop()] + ("s" if numbers[1:] else "")
    return f"{part} {noun} {ranges(numbers)}"


def ranges(numbers: Sequence[int]) -> str:
    """Rising numbers, three and more in a row as a range: `1-4, 6`."""
    words: list[str] = []
    for _, run in groupby(enumerate(numbers), lambda pair: pair[1] - pair[0]):
        row = [number for _, number in run]
        words += [f"{row[0]}-{row[-1]}"] if len(row) > 2 else map(str, row)
    return ", ".join(words)


def copies_together(rows: Iterable[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    """Rows in order, neighbours that differ in the number of a copy alone as one: `quay_1-6`."""
    for (stem, words), some in groupby(rows, lambda row: (COPY.sub("_", row[0]), row[1])):
        names = [name for name, _ in some]
        numbers = [int(name.removeprefix(stem)) for name in names] if names[1:] else []
        yield f"{stem}{ranges(numbers)}" if numbers else names[0], words


def frames_words(first: int, drawn: int, count: int) -> str:
    """Which of so many frames are drawn, and how to see more."""
    last = first + drawn - 1
    which = f"frame {first:,}" if drawn == 1 else f"frames {first:,} to {last:,}"
    more = f"; more with --from {last + 1}" if last < count else ""
    return f"{which} of {count:,} below{more}"


def columns() -> int:
    """How wide lines may be: as the terminal is, or 80 columns in a pipe."""
    return shutil.get_terminal_size((PIPE_COLUMNS, 24)).columns if sys.stdout.isatty() else 80


def folded(line: str, hang: int = 4) -> Iterator[str]:
    """A line in as many as it needs, all but the first set in by `hang` more than it is."""
    inset = len(line) - len(line.lstrip())
    yield from _wrapped(line, max(columns(), LEAST_COLUMNS), " " * (inset + hang))


def _wrapped(line: str, width: int, inset: str = "") -> list[str]:
    """Lines no wider than that, none of which ends between a figure and its unit."""
    bound = UNIT.sub("\\1\N{NO-BREAK SPACE}", line)
    lines = textwrap.wrap(
        bound, width, subsequent_indent=inset, break_long_words=False, break_on_hyphens=False
    )
    return [each.replace("\N{NO-BREAK SPACE}", " ") for each in lines] or [""]


def table(rows: Sequence[tuple[str, ...]], inset: int = 2) -> Iterator[str]:
    """Rows of words with their columns level; the last word of a row folds in its column."""
    widths = [max(len(row[at]) for row in rows) for at in range(len(rows[0]) - 1)] if rows else []
    for row in rows:
        pairs = zip(row, widths, strict=False)
        head = " " * inset + "".join(f"{word.ljust(width)}   " for word, width in pairs)
        lines = _wrapped(row[-1], max(columns() - len(head), LEAST_COLUMNS))
        yield (head + lines[0]).rstrip()
        yield from (" " * len(head) + line for line in lines[1:])
