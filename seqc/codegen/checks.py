"""What a table set must keep before it is written for a controller."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from seqc.codegen.image import MOST_STEPS
from seqc.codegen.limits import TICK_US, Limit, held_too_long
from seqc.machine.electrics import MILLION, ceil_div
from seqc.machine.findings import NOWHERE, Findings, InputError
from seqc.machine.model import Machine
from seqc.machine.steptable import (
    LONGEST_HOLD_US,
    MOST_TABLES,
    TOO_MANY_TABLES,
    StepTable,
    TableSet,
    TablesFor,
)
from seqc.machine.wiring import Actuator

MOST_OUTPUTS = 255 * 8


def forbidden_pairs(machine: Machine) -> tuple[tuple[int, int], ...]:
    """The outputs that must never be active together.

    They give both polarities of one coil, or are both switches of a matrix's column, or a high and
    a low switch of its rows.
    """
    pairs: dict[tuple[int, int], None] = {}
    for actuator in machine.actuators:
        match actuator.outputs:
            case (forward, reverse):
                pairs[forward, reverse] = None
            case (row_high, low, _, high):
                pairs[low, high] = None
                alike = (each for each in machine.actuators if each.drive == actuator.drive)
                pairs |= dict.fromkeys((row_high, each.outputs[2]) for each in alike)
    return tuple(pairs)


def rest_us(machine: Machine) -> int:
    """How long all outputs must be inactive before home, whatever was active before a reset.

    Every contact has opened, every current has decayed and every coil has recovered by then.
    """
    return max(map(_rest_us, machine.actuators), default=0)


def _rest_us(actuator: Actuator) -> int:
    """So long that no coil passes its duty, however soon each reset follows on the last."""
    coil, drive = actuator.coil, actuator.drive
    gap_us = drive.lag.most_us + drive.gap(coil).most_us
    period_us = 0 if coil.duty_ppm is None else ceil_div(coil.longest_us * MILLION, coil.duty_ppm)
    return max(gap_us, period_us - coil.longest_us)


def check(
    table_set: TableSet, pairs: Sequence[tuple[int, int]], limits: Sequence[Limit] = ()
) -> None:
    """Raise InputError where a table set is too large for a controller or would harm a coil.

    Raises ValueError where it is not a table set at all: steps out of order, outputs left active.
    """
    names = [table.name for table in table_set]
    if not table_set.tables or len(set(names)) < len(names):
        raise ValueError("a table set has tables, each with a name of its own")
    for table in table_set:
        _check_form(table, table_set)
    findings = Findings()
    for code, message, hint in _too_large(table_set):
        findings.error(code, message, NOWHERE, hint)
    for table in table_set:
        for code, message in _harmful(table, table_set.idle_word, pairs):
            findings.error(code, message, NOWHERE)
    for table, limit, held_us in held_too_long(table_set, limits):
        outputs = [n for n in range(table_set.width) if limit.mask >> n & 1]
        message = (
            f"table {table.name!r} has outputs {', '.join(map(str, outputs))} active for "
            f"{held_us / 1000:g} ms, and their coil bears {limit.most * TICK_US // 1000} ms"
        )
        findings.error("held-too-long", message, NOWHERE)
    if findings.has_errors:
        raise InputError(findings)


def _check_form(table: StepTable, table_set: TableSet) -> None:
    times = [step.at_us for step in table.steps]
    if times[:1] != [0] or times != sorted(set(times)) or times[-1] > table.length_us:
        raise ValueError(f"table {table.name!r}: steps are not in order of time from 0")
    if table.steps[-1].word != table_set.idle_word and not _goes_on(table, table_set):
        raise ValueError(f"table {table.name!r} ends with an output active")
    if any(step.word >> table_set.width for step in table.steps):
        raise ValueError(f"table {table.name!r}: a word is wider than {table_set.width} outputs")


def _goes_on(table: StepTable, table_set: TableSet) -> bool:
    """Whether another table always follows this one at once, so that a pulse may span both."""
    if table_set.tables_for is not TablesFor.PROGRAMME or table in (
        table_set.home,
        table_set.clear,
    ):
        return False
    return table_set.repeat_from is not None or table != table_set.tables[-1]


def _too_large(table_set: TableSet) -> Iterator[tuple[str, str, str]]:
    if table_set.width > MOST_OUTPUTS:
        yield (
            "too-many-outputs",
            f"a controller switches at most {MOST_OUTPUTS} outputs, not {table_set.width}",
            "build several machines, each with a controller of its own",
        )
    steps = sum(len(table.steps) for table in table_set)
    if len(table_set.tables) > MOST_TABLES or steps > MOST_STEPS:
        yield (
            TOO_MANY_TABLES,
            f"{len(table_set.tables)} tables of {steps} steps are more than a controller holds "
            f"({MOST_TABLES} tables, {MOST_STEPS} steps)",
            "build fewer glyphs, or a shorter programme",
        )


def _harmful(
    table: StepTable, idle_word: int, pairs: Sequence[tuple[int, int]]
) -> Iterator[tuple[str, str]]:
    ends = [*(step.at_us for step in table.steps[1:]), table.length_us]
    if any(end - step.at_us > LONGEST_HOLD_US for step, end in zip(table.steps, ends, strict=True)):
        yield (
            "wait-too-long",
            f"table {table.name!r} waits longer than {LONGEST_HOLD_US // 60_000_000} minutes, "
            "where a clock of 32 bits in microseconds wraps",
        )
    active = {step.word ^ idle_word for step in table.steps}
    for forward, reverse in pairs:
        both = 1 << forward | 1 << reverse
        if any(word & both == both for word in active):
            yield (
                "both-polarities",
                f"table {table.name!r} has outputs {forward} and {reverse} active together, "
                "both polarities of one coil",
            )
