"""Bits that turn over in an emulated ATmega328P: no coil is held, and the display comes back."""

from __future__ import annotations

import random
from collections.abc import Sequence
from pathlib import Path

import pytest
from firmware.emulated import TOOLS, Controller, Ran, build_emulator, controller, settled
from firmware.host import needs
from firmware.numerals import AVR, CHAIN, numerals, planned, programme

from seqc.codegen.rendering import build_of
from seqc.machine.steptable import TableSet

pytestmark = [needs(*TOOLS), pytest.mark.counts]

LONGEST_US = 60_000
RAM, RAM_BYTES = 0x100, 0x800
AFTER_US = 6_000_000
"""Home is tried again after one second, and rests and runs in less than one."""

SAMPLE = 10
COUNTS = [SAMPLE, pytest.param(1_000, marks=pytest.mark.campaign)]
FEW = [SAMPLE, pytest.param(200, marks=pytest.mark.campaign)]


@pytest.fixture(scope="module")
def emulator(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build_emulator(tmp_path_factory.mktemp("emulator"))


@pytest.fixture(scope="module", params=["programme", "programme and line", "glyphs and line"])
def built(
    request: pytest.FixtureRequest, emulator: Path, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Controller, TableSet]:
    folder = tmp_path_factory.mktemp("build")
    shows = "glyphs" in request.param
    tables = numerals(CHAIN, clear=True) if shows else programme(CHAIN)
    line = "line" in request.param
    return controller(emulator, folder, AVR, CHAIN, tables, serial=line, wait=False), tables


def assert_harmless(ran: Ran, what: str) -> None:
    """No output was active too long, and no coil had both polarities."""
    since: dict[int, float] = {}
    for at, word in [*ran.edges, (ran.marks[-1], CHAIN.idle_word)]:
        active = word ^ CHAIN.idle_word
        for output in range(CHAIN.width):
            if active >> output & 1:
                since.setdefault(output, at)
            elif output in since:
                assert at - since.pop(output) <= LONGEST_US, what
        assert not active & active >> 1 & 0x555555, what


def assert_right_again(ran: Ran, tables: TableSet, what: str) -> None:
    """The last dozen of words are the programme's, or those of the glyph that was asked for."""
    words = [word for _, word in settled(ran.edges)]
    if tables.repeat_from is None:
        assert ran.answers[-1].split()[:3] == ["status", "ready", "3"], what
        shown = [word for _, word in planned([tables.tables[3]], CHAIN.idle_word)]
        assert words[-len(shown) :] == shown, what
        return
    cycle = [word for _, word in planned(tables.tables, CHAIN.idle_word)] * 3
    last = words[-12:]
    assert any(cycle[at : at + len(last)] == last for at in range(len(cycle) // 3)), what


def script_of(tables: TableSet, moment_us: int, flip: Sequence[str]) -> list[str]:
    """Plays, has a bit turn over at a moment, and waits until all should be well again."""
    if tables.repeat_from is not None:
        return [f"for {200_000 + moment_us}", *flip, f"for {AFTER_US}", "mark"]
    begin = ["for 300000", "send show 3", f"for {moment_us}", *flip, f"for {AFTER_US}"]
    return [*begin, "send status", "send show 3", "for 900000", "send status", "mark"]


@pytest.mark.quick(1)
@pytest.mark.parametrize("where", ["used", "any"])
@pytest.mark.parametrize("count", COUNTS)
def test_a_bit_of_the_ram_that_turns_over_does_no_harm(
    built: tuple[Controller, TableSet], count: int, where: str
) -> None:
    program, tables = built
    chance = random.Random(f"{where} {tables.tables_for}")
    size = program.size()[1] if where == "used" else RAM_BYTES
    for _ in range(count):
        flip = f"ram {RAM + chance.randrange(size)} {chance.randrange(8)}"
        moment_us = chance.randrange(900_000)
        ran = program.run(script_of(tables, moment_us, [flip]))
        assert_harmless(ran, f"{flip} at {moment_us}")
        assert_right_again(ran, tables, f"{flip} at {moment_us}")
    print(
        f"\nbits of RAM ({where}): {count}, held too long 0, both polarities 0, not right again 0"
    )


@pytest.mark.quick(0)
@pytest.mark.parametrize("count", FEW)
def test_a_bit_of_the_tables_that_turns_over_leaves_a_fault_that_says_so(
    built: tuple[Controller, TableSet], count: int
) -> None:
    program, tables = built
    chance = random.Random(f"flash {tables.tables_for}")
    first = program.address("seqc_image")
    size = build_of(AVR, CHAIN, tables).image.size
    for _ in range(count):
        flip = f"flip {first + chance.randrange(size)} {chance.randrange(8)}"
        moment_us = chance.randrange(900_000)
        ran = program.run(script_of(tables, moment_us, [flip]))
        assert_harmless(ran, f"{flip} at {moment_us}")
        assert ran.edges[-1][0] < 200_000 + 400_000 + moment_us + AFTER_US / 2, "it went dark"
        if ran.answers:
            assert ran.answers[-1].split()[1] in ("fault", "homing")
    print(f"\nbits of the tables: {count}, held too long 0, both polarities 0, dark {count}")


@pytest.mark.quick(1)
@pytest.mark.parametrize("megahertz", [8, 1])
def test_an_image_for_another_clock_stays_dark(
    built: tuple[Controller, TableSet], megahertz: int
) -> None:
    program, _ = built
    ran = program.run(["for 3000000"], megahertz=megahertz)
    assert ran.edges == ()
