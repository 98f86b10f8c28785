"""Packs a table set into the smallest image."""

from __future__ import annotations

import math
from collections.abc import Sequence

from seqc.codegen.image import ANY_FRAME, Frame, Image, Run, Shape
from seqc.machine.steptable import Layout, TableSet


def pack(table_set: TableSet, pairs: Sequence[tuple[int, int]], rest_us: int = 0) -> Image:
    """The smallest of the images with records shared and not shared.

    `pairs` are the outputs that must never be active together, `rest_us` how long all outputs are
    inactive before home. The table set has been checked.
    """
    return min(
        (_packed(table_set, tuple(pairs), rest_us, shared) for shared in (False, True)),
        key=lambda image: len(image.data),
    )


def frames_of(table_set: TableSet) -> tuple[Frame, ...]:
    """Every frame that a table shows or comes after, each once, in order of appearance."""
    shown = [table.shows for table in table_set.tables]
    return tuple(dict.fromkeys([*shown, *(t.after for t in table_set.tables if t.after)]))


def chosen_by_frame(table_set: TableSet) -> bool:
    """Whether a frame alone does not tell its table, so that the image must list them."""
    if table_set.layout is Layout.PROGRAMME:
        return False
    shown = {table.shows for table in table_set.tables}
    ordered = any(table.after for table in table_set.tables)
    return ordered or len(shown) < len(table_set.tables)


def _packed(
    table_set: TableSet, pairs: tuple[tuple[int, int], ...], rest_us: int, shared: bool
) -> Image:
    runs = [Run.of(table) for table in table_set]
    unit_us = math.gcd(*(hold for run in runs for hold, _ in run.steps)) or 1
    steps = [(hold // unit_us, word) for run in runs for hold, word in run.steps]
    records = tuple(dict.fromkeys(steps)) if shared else tuple(steps)
    order = _order(steps, records) if shared else ()
    frames = _frames(table_set)
    starts = [0]
    for run in runs:
        starts.append(starts[-1] + len(run.steps))
    shape = Shape(
        word=_bytes((1 << table_set.width) - 1),
        time=_bytes(max(hold for hold, _ in steps)),
        index=_bytes(len(records) - 1) if shared else 0,
        start=_bytes(starts[-1]),
        pair=_bytes(table_set.width - 1),
        frame=_bytes(len(frames_of(table_set))) if frames else 0,
    )
    return Image(
        layout=table_set.layout,
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
        starts=tuple(starts),
        frames=frames,
        records=records,
        order=order,
    )


def _order(steps: Sequence[tuple[int, int]], records: Sequence[tuple[int, int]]) -> tuple[int, ...]:
    number = {record: rank for rank, record in enumerate(records)}
    return tuple(number[step] for step in steps)


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
