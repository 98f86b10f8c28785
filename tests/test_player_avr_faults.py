"""Faults in an emulated ATmega328P: resets, stalls, damaged tables, garbage on the serial line."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from firmware.emulated import TOOLS, Controller, Ran, build_emulator, controller, settled
from firmware.host import needs
from firmware.numerals import (
    AVR,
    CHAIN,
    WITHIN_US,
    assert_same_edges,
    numerals,
    planned,
)

from seqc.codegen.rendering import build_of
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet

pytestmark = [needs(*TOOLS), pytest.mark.counts]


@pytest.fixture(scope="module")
def emulator(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build_emulator(tmp_path_factory.mktemp("emulator"))


@pytest.fixture(scope="module")
def chained(emulator: Path, tmp_path_factory: pytest.TempPathFactory) -> Controller:
    return controller(
        emulator, tmp_path_factory.mktemp("chain"), AVR, CHAIN, numerals(CHAIN, clear=True)
    )


LONGEST_US = 40_000 + 20_000
PATIENCE_US = 100
"""Lateness that main.c does not tell the player."""


def assert_harmless(ran: Ran, machine: Machine) -> int:
    """No coil ever had both polarities, no output was active too long; counts the pulses."""
    since: dict[int, float] = {}
    pulses = 0
    for at, word in ran.edges:
        active = word ^ machine.idle_word
        for output in range(machine.width):
            lit = active >> output & 1
            if lit and output not in since:
                since[output] = at
                pulses += 1
            elif not lit and output in since:
                assert at - since.pop(output) <= LONGEST_US
        assert not active & active >> 1 & 0x555555, "both polarities of one coil"
    assert not since, "an output was left active"
    return pulses


def assert_next_glyph_is_right(ran: Ran, tables: TableSet, wanted: int) -> None:
    """The last tables that ran were home, clear and the wanted one, edge for edge."""
    assert tables.clear
    last = planned([tables.home], CHAIN.idle_word)
    shown = planned([tables.clear, tables.tables[wanted]], CHAIN.idle_word)
    edges = list(ran.edges)
    assert_same_edges(edges[-len(shown) :], shown)
    assert_same_edges(edges[-len(shown) - len(last) : -len(shown)], last)


FINISH = ["for 300000", "send show 7", "for 700000"]


@pytest.mark.thorough
def test_resets_at_random_moments_do_no_harm(chained: Controller) -> None:
    chance = random.Random(5)
    script: list[str] = []
    for _ in range(200):
        if chance.random() < 0.7:
            script += ["for 250000", f"send show {chance.randrange(10)}"]
        script += [f"for {chance.randrange(400_000)}", "reset"]
    ran = chained.run([*script, *FINISH])
    pulses = assert_harmless(ran, CHAIN)
    assert len(ran.resets) >= 200
    assert pulses > 400
    assert_next_glyph_is_right(ran, numerals(CHAIN, clear=True), 7)
    print(f"\nresets: {len(ran.resets)}, pulses: {pulses}, harm: none")


@pytest.mark.quick(0)
@pytest.mark.parametrize("stall", ["spin", "hang"])
def test_a_stalled_main_loop_ends_in_a_reset_and_home(chained: Controller, stall: str) -> None:
    chance = random.Random(6)
    script: list[str] = []
    for _ in range(12):
        script += ["for 250000", f"send show {chance.randrange(10)}"]
        script += [f"for {chance.randrange(300_000)}", stall, "for 2000000"]
    ran = chained.run([*script, *FINISH])
    pulses = assert_harmless(ran, CHAIN)
    assert len(ran.resets) == 12, "one reset a stall, by the watchdog"
    assert_next_glyph_is_right(ran, numerals(CHAIN, clear=True), 7)
    print(f"\n{stall}: resets: {len(ran.resets)}, pulses: {pulses}, harm: none")


@pytest.mark.thorough
def test_interrupts_kept_off_for_a_while_shorten_no_pulse(chained: Controller) -> None:
    chance = random.Random(9)
    script: list[str] = []
    count = 150
    for _ in range(count):
        script += ["for 250000", f"send show {chance.randrange(10)}"]
        script += [f"for {chance.randrange(150_000)}", f"block {chance.randrange(9_000)}"]
        script += ["for 300000"]
    ran = chained.run([*script, "send status"])
    assert len([at for at in ran.resets if at > 1]) == 0
    assert ran.answers[-1].startswith("status ready")
    assert_harmless(ran, CHAIN)
    lit = [
        later - at
        for (at, word), (later, _) in zip(ran.edges, ran.edges[1:], strict=False)
        if word != CHAIN.idle_word
    ]
    assert min(lit) >= 40_000 - PATIENCE_US - WITHIN_US
    assert max(lit) <= 40_000 + 9_000 + 1_000
    assert sum(length > 40_000 + 500 for length in lit) > 2, "some were held while it lasted"
    print(f"\ninterrupts off {count} times: {len(lit)} pulses, the longest {max(lit):.0f} us")


ASK = ["send show 1", "send home"]


@pytest.mark.thorough
def test_a_corrupted_byte_of_the_tables_leaves_every_output_inactive(chained: Controller) -> None:
    chance = random.Random(7)
    first = chained.address("seqc_image")
    size = build_of(AVR, CHAIN, numerals(CHAIN, clear=True)).image.size
    count = 40
    for _ in range(count):
        flip = f"flip {first + chance.randrange(size)} {chance.randrange(8)}"
        ran = chained.run(
            ["for 100000", flip, "reset", "for 600000", *ASK, "for 200000", "send status"]
        )
        (restart,) = [at for at in ran.resets if at > 1]
        assert [word for at, word in ran.edges if at > restart + 1] == []
        assert_harmless(ran, CHAIN)
        states = [answer.split()[1] for answer in ran.answers]
        assert all(state in ("fault", "homing") for state in states), "home is tried again"
    print(f"\ncorrupted bytes: {count}, all found before an output was active")


@pytest.mark.thorough
def test_a_byte_corrupted_while_tables_run_makes_the_outputs_inactive(
    chained: Controller,
) -> None:
    chance = random.Random(10)
    first = chained.address("seqc_image")
    size = build_of(AVR, CHAIN, numerals(CHAIN, clear=True)).image.size
    count = 60
    pulses = 0
    for _ in range(count):
        script = ["for 250000", f"send show {chance.randrange(10)}"]
        script += [f"for {chance.randrange(250_000)}"]
        script += [f"flip {first + chance.randrange(size)} {chance.randrange(8)}", "for 200000"]
        ran = chained.run([*script, "send status", "send show 1", "send home"])
        ran_on = chained.run([*script, "send home", "for 500000", "send status"])
        pulses += assert_harmless(ran, CHAIN)
        states = [answer.split()[1] for answer in ran.answers[1:]]
        assert states[0] in ("fault", "homing")
        assert ran_on.answers[-1].split()[1] in ("fault", "homing"), "home finds the damage"
        assert settled(ran_on.edges)[-1][0] < 900_000, "and leaves every output inactive"
    print(f"\nbytes corrupted while tables ran: {count}, pulses: {pulses}, harm: none")


def test_garbage_on_the_serial_line_does_nothing(chained: Controller) -> None:
    chance = random.Random(8)
    noise = [chance.choice((10, 13, *range(256))) for _ in range(2_000)]
    noise = [byte for byte in noise if byte != ord("!")]
    script = ["for 250000", *[f"byte {byte}" for byte in noise], "byte 10", "for 20000"]
    ran = chained.run([*script, "send show 7", "for 700000", "send status"])
    pulses = assert_harmless(ran, CHAIN)
    tables = numerals(CHAIN, clear=True)
    assert tables.clear
    steps = [tables.home, tables.clear, tables.tables[7]]
    assert [word for _, word in ran.edges] == [
        word for one in steps for _, word in planned([one], CHAIN.idle_word)
    ]
    assert ran.answers[-1].startswith("status ready 7")
    assert all(answer.split()[-3] == "ready" for answer in ran.answers[:-2])
    print(f"\ngarbage: {len(noise)} bytes, {len(ran.answers) - 2} lines refused, {pulses} pulses")
