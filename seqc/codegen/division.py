"""A set of tables divided among several builds, where it is too large for one controller."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import groupby

from seqc.codegen.checks import forbidden_pairs, rest_us
from seqc.codegen.limits import limits_of
from seqc.codegen.packing import pack
from seqc.codegen.sizes import sizes_of
from seqc.codegen.target import Target
from seqc.machine.model import Machine
from seqc.machine.steptable import MOST_TABLES, TableSet

Fits = Callable[[Sequence[int]], bool]


def divided(
    target: Target,
    machine: Machine,
    table_set: TableSet,
    kinds: Sequence[str],
    always: Sequence[int],
) -> tuple[tuple[int, ...], ...]:
    """The numbers of the tables in each part; one part where all of them fit.

    Tables of one kind (`kinds` has that of each) stay together where they fit, in order. The tables
    that are `always` wanted are in every part. A table too large by itself is a part of its own,
    which the size check of the build then refuses.
    """

    def fits(numbers: Sequence[int]) -> bool:
        return _fits(target, machine, table_set, [*numbers, *always])

    others = [n for n in range(len(table_set.tables)) if n not in always]
    parts: list[list[int]] = [[]]
    for _, run in groupby(others, key=lambda n: kinds[n]):
        together = list(run)
        if fits([*parts[-1], *together]):
            parts[-1] += together
        else:
            parts += _pieces(together, fits)
    return tuple((*part, *always) for part in parts if part) or (tuple(always),)


def _pieces(numbers: list[int], fits: Fits) -> Iterator[list[int]]:
    """A row of tables in pieces that fit, each as long as can be."""
    while numbers:
        low, high = 1, len(numbers)
        while low < high:
            middle = (low + high + 1) // 2
            low, high = (middle, high) if fits(numbers[:middle]) else (low, middle - 1)
        yield numbers[:low]
        numbers = numbers[low:]


def _fits(target: Target, machine: Machine, table_set: TableSet, numbers: Sequence[int]) -> bool:
    if len(numbers) > MOST_TABLES:
        return False
    if target.budget is None:
        return True
    part = replace(table_set, tables=tuple(table_set.tables[n] for n in numbers))
    image = pack(part, forbidden_pairs(machine), rest_us(machine), limits_of(machine))
    return sizes_of(image, target.budget).fits
