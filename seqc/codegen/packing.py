"""Packs a table set into the smallest image."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TypeVar

from seqc.codegen.image import ANY_FRAME, Frame, Image, Run, Shape
from seqc.codegen.limits import Limit
from seqc.machine.steptable import TableSet, TablesFor

Value = TypeVar("Value")


def pack(
    table_set: TableSet,
    pairs: Sequence[tuple[int, int]],
    rest_us: int = 0,
    limits: Sequence[Limit] = (),
) -> Image:
    """The smallest of the images with records shared and not shared.

    `pairs` are the outputs that must never be active together, `rest_us` how long all outputs are
    inactive before home, `limits` what the cap keeps. The table set has been checked.
    """
    return min(
        (
            replace(_packed(table_set, tuple(pairs), rest_us, shared), limits=tuple(limits))
            for shared in (False, True)
        ),
        key=lambda image: image.size,
    )


def frames_of(table_set: TableSet) -> tuple[Frame, ...]:
    """Every frame that a table shows or comes after, each once, in order of appearance."""
    shown = [table.shows for table in table_set.tables]
    return tuple(dict.fromkeys([*shown, *(t.after for t in table_set.tables if t.after)]))


def chosen_by_frame(table_set: TableSet) -> bool:
    """Whether a frame alone does not tell its table, so that the image must list them."""
    if table_set.tables_for in (TablesFor.PROGRAMME, TablesFor.COMMISSIONING):
        return False
    shown = {table.shows for table in table_set.tables}
    ordered = any(table.after for table in table_set.tables)
    return ordered or len(shown) < len(table_set.tables)


def _packed(
    table_set: TableSet, pairs: tuple[tuple[int, int], ...], rest_us: int, shared: bool
) -> Image:
    runs = [Run.of(table) for table in table_set]
    unit_us = math.gcd(*(hold for run in runs for hold, _ in run.steps)) or 1
    steps = [step for run in runs for step in _changes(run, unit_us, table_set.idle_word)]
    holds = _numbered(hold for hold, _ in steps)
    changes = _numbered(change for _, change in steps)
    chosen = [(holds[hold], changes[change]) for hold, change in steps]
    records = _numbered(chosen) if shared else {}
    frames = _frames(table_set)
    starts = [0, *itertools.accumulate(len(run.steps) for run in runs)]
    shape = Shape(
        word=_bytes((1 << table_set.width) - 1),
        time=_bytes(max(holds)),
        hold=_bytes(len(holds) - 1),
        change=_bytes(len(changes) - 1),
        index=_bytes(len(records) - 1) if shared else 0,
        start=_bytes(starts[-1]),
        frame=_bytes(len(frames_of(table_set))) if frames else 0,
    )
    return Image(
        tables_for=table_set.tables_for,
        shape=shape,
        width=table_set.width,
        unit_us=unit_us,
        slack_us=table_set.slack_us,
        spare_us=table_set.spare_us,
        rest_us=rest_us,
        idle_word=table_set.idle_word,
        repeat_from=table_set.repeat_from,
        clear=table_set.clear is not None,
        pairs=pairs,
        limits=(),
        starts=tuple(starts),
        frames=frames,
        holds=tuple(holds),
        changes=tuple(changes),
        records=tuple(records) if shared else tuple(chosen),
        order=tuple(records[record] for record in chosen) if shared else (),
    )


def _changes(run: Run, unit_us: int, idle_word: int) -> Iterator[tuple[int, int]]:
    """For each step its hold in units and the outputs that change before it."""
    before = idle_word
    for hold_us, word in run.steps:
        yield hold_us // unit_us, word ^ before
        before = word


def _numbered(values: Iterable[Value]) -> dict[Value, int]:
    """Every value with a number, in order of appearance."""
    found: dict[Value, int] = {}
    for value in values:
        found.setdefault(value, len(found))
    return found


def _frames(table_set: TableSet) -> tuple[tuple[int, int], ...]:
    if not chosen_by_frame(table_set):
        return ()
    number = {frame: rank for rank, frame in enumerate(frames_of(table_set))}
    return tuple(
        (number[table.shows], number[table.after] if table.after else ANY_FRAME)
        for table in table_set.tables
    )


def _bytes(largest: int) -> int:
    """How many bytes hold numbers up to `largest`."""
    return max(1, (largest.bit_length() + 7) // 8)
