"""A build that can't fit its controller is refused with its sizes before anything is written."""

from __future__ import annotations

from dataclasses import replace

import pytest
from firmware.handmade import frame, machine_of, random_table, table_set
from firmware.host import target

from seqc.codegen import render, sizes
from seqc.codegen.rendering import build_of
from seqc.machine.findings import ShortfallError

MACHINE = machine_of(24, low=True)
AVR = target("avr")


def test_sizes_are_those_of_tables_and_player() -> None:
    tables = table_set(MACHINE)
    found = sizes(AVR, MACHINE, tables)
    assert found is not None
    assert AVR.budget is not None
    assert found.tables_bytes == len(build_of(AVR, MACHINE, tables).image.data) + 3
    assert found.flash_bytes == found.tables_bytes + AVR.budget.player_flash_bytes
    assert found.flash_limit_bytes == 32 * 1024
    assert found.ram_limit_bytes == 2 * 1024
    assert found.fits
    assert f"tables {found.tables_bytes} bytes" in str(found)


def test_a_target_without_a_controller_has_no_sizes() -> None:
    assert sizes(target("json"), MACHINE, table_set(MACHINE)) is None


def test_tables_too_large_for_the_flash_are_refused() -> None:
    made = tuple(
        replace(random_table(MACHINE, f"show {n}", n, 200), shows=frame(str(n))) for n in range(60)
    )
    tables = replace(table_set(MACHINE), tables=made)
    with pytest.raises(
        ShortfallError, match=r"does not fit ATmega328P: tables \d+ bytes; .* 32768"
    ):
        render(AVR, MACHINE, tables)
    assert render(target("c99"), MACHINE, tables)


def test_a_player_too_large_for_the_ram_is_refused() -> None:
    assert AVR.budget is not None
    small = replace(AVR, budget=replace(AVR.budget, ram_bytes=200))
    with pytest.raises(ShortfallError, match="of 200 bytes of RAM"):
        render(small, MACHINE, table_set(MACHINE))


@pytest.mark.parametrize("name", ["avr", "arduino"])
def test_a_build_just_fits_or_just_does_not(name: str) -> None:
    chosen = target(name)
    found = sizes(chosen, MACHINE, table_set(MACHINE))
    assert found is not None
    assert chosen.budget is not None
    exact = replace(chosen, budget=replace(chosen.budget, flash_bytes=found.flash_bytes))
    assert render(exact, MACHINE, table_set(MACHINE))
    short = replace(chosen, budget=replace(chosen.budget, flash_bytes=found.flash_bytes - 1))
    with pytest.raises(ShortfallError):
        render(short, MACHINE, table_set(MACHINE))
