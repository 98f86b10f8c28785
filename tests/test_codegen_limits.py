"""What no controller can play is refused before it is written."""

from __future__ import annotations

from dataclasses import replace

import pytest
from firmware.handmade import machine_of, table_set
from firmware.host import target

from seqc.codegen import render
from seqc.codegen.checks import check, forbidden_pairs
from seqc.codegen.limits import limits_of
from seqc.machine.findings import InputError
from seqc.machine.steptable import Step, StepTable, TableSet, TablesFor

MACHINE = machine_of(4)
PAIRS = forbidden_pairs(MACHINE)
HOUR_US = 3_600_000_000


def with_table(made: StepTable) -> TableSet:
    found = table_set(MACHINE, TablesFor.PROGRAMME)
    return replace(found, tables=(made, *found.tables[1:]))


@pytest.mark.parametrize("step", [0, 1])
def test_a_wait_that_a_clock_of_32_bits_cannot_tell_is_refused(step: int) -> None:
    # Microseconds in 32 bits wrap after 71.58 minutes, and a controller may look late.
    idle = MACHINE.idle_word
    for wait_us, fits in ((HOUR_US, True), (4_200_000_000, True), (4_200_000_001, False)):
        times = (0, wait_us) if step == 0 else (0, 1_000)
        steps = tuple(Step(at_us, idle ^ rank) for rank, at_us in enumerate(times))
        steps = (*steps, Step(times[1] + 1_000, idle))
        tables = with_table(StepTable("long", steps, steps[-1].at_us + (wait_us if step else 1)))
        if fits:
            check(tables, PAIRS)
        else:
            with pytest.raises(InputError, match="waits longer than 70 minutes"):
                check(tables, PAIRS)


@pytest.mark.parametrize("word", [0b0011, 0b1100, 0b1111])
def test_both_polarities_of_a_coil_are_refused(word: int) -> None:
    idle = MACHINE.idle_word
    made = StepTable("both", (Step(0, idle), Step(5, idle ^ word), Step(9, idle)), 20)
    with pytest.raises(InputError, match="both polarities of one coil"):
        check(with_table(made), PAIRS)


def test_two_coils_at_once_are_fine() -> None:
    idle = MACHINE.idle_word
    made = StepTable("two", (Step(0, idle), Step(5, idle ^ 0b0101), Step(9, idle)), 20)
    check(with_table(made), PAIRS)


@pytest.mark.parametrize(
    "steps",
    [
        (),
        (Step(1, 0),),
        (Step(0, 0), Step(9, 1), Step(5, 0)),
        (Step(0, 0), Step(5, 1), Step(5, 0)),
        (Step(0, 0), Step(21, 0)),
        (Step(0, 0), Step(5, 16), Step(9, 0)),
    ],
)
def test_what_is_no_table_is_refused(steps: tuple[Step, ...]) -> None:
    with pytest.raises((ValueError, IndexError)):
        check(with_table(StepTable("bad", steps, 20)), PAIRS)


def test_limits_come_in_the_order_of_the_bytes_that_they_begin_in() -> None:
    # The cap passes over those of a byte of which nothing can count, by their number.
    wide = machine_of(20)
    actuators = tuple(
        replace(actuator, outputs=actuator.outputs[::-1]) for actuator in wide.actuators[::-1]
    )
    machine = replace(wide, actuators=actuators)
    limits = limits_of(machine)
    first = [limit.first_byte for limit in limits]
    assert first == sorted(first)
    assert {limit.mask for limit in limits} == {1 << output for output in range(20)}
    source = render(target("c99"), machine, table_set(machine))["seqc_tables.c"]
    numbers = source.partition("seqc_limits_from[SEQC_WORD_BYTES] SEQC_FLASH = {")[2].split()
    assert [int(number.strip(",")) for number in numbers[:3]] == [8, 8, 4]
