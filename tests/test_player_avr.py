"""The `avr` target in an emulated ATmega328P: its edges, its answers, its size."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from firmware.emulated import TOOLS, Controller, build_emulator, controller, settled
from firmware.handmade import machine_of
from firmware.host import needs, target
from firmware.numerals import (
    AVR,
    CHAIN,
    assert_same_edges,
    numerals,
    pins_machine,
    planned,
    programme,
)
from vcdvcd import VCDVCD  # type: ignore[import-untyped]

from seqc.codegen import render
from seqc.codegen.rendering import build_of
from seqc.machine.findings import InputError
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet

pytestmark = needs(*TOOLS)


@pytest.fixture(scope="module")
def emulator(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build_emulator(tmp_path_factory.mktemp("emulator"))


@pytest.fixture(scope="module")
def chained(emulator: Path, tmp_path_factory: pytest.TempPathFactory) -> Controller:
    return controller(
        emulator, tmp_path_factory.mktemp("chain"), AVR, CHAIN, numerals(CHAIN, clear=True)
    )


BOARDS = {
    "chain of 24": (CHAIN, AVR),
    "chain of 66, active high": (machine_of(66), AVR),
    "chain of 3 and 12 pins": (machine_of(3, 12, low=True), AVR),
    "18 pins": (pins_machine(18), AVR),
    "7 pins of the user's choice, active high": (
        pins_machine(7, low=False),
        replace(AVR, options={**AVR.options, "pins": "PC3 PC2 PC1 PC0 PB4 PD5 PD6"}),
    ),
}


@pytest.mark.quick(2)
@pytest.mark.parametrize("board", BOARDS)
def test_a_programme_keeps_to_its_table_within_20_us(
    emulator: Path, tmp_path: Path, board: str
) -> None:
    machine, wired = BOARDS[board]
    tables = programme(machine)
    built = controller(emulator, tmp_path, wired, machine, tables, serial=False)
    ran = built.run(["for 4000000"])
    home = planned([tables.home], machine.idle_word)
    edges = settled(ran.edges)
    assert_same_edges(edges[: len(home)], home)
    shown = planned([*tables.tables, *tables.tables], machine.idle_word)
    assert_same_edges(edges[len(home) :][: len(shown)], shown)
    assert ran.resets == ()


def test_the_waveform_of_the_pins_shows_the_same_edges(emulator: Path, tmp_path: Path) -> None:
    machine = pins_machine(18)
    tables = programme(machine)
    built = controller(emulator, tmp_path, AVR, machine, tables, serial=False)
    built.run(["for 2500000"], tmp_path / "pins.vcd")
    dump = VCDVCD(str(tmp_path / "pins.vcd"))
    scale = float(dump.timescale["timescale"]) * 1e6
    levels: dict[float, dict[int, int]] = {}
    for output, pin in enumerate(str(AVR.options["pins"]).split()):
        (signal,) = [name for name in dump.signals if name.endswith(f"{pin}")]
        for at, value in dump[signal].tv:
            levels.setdefault(at * scale, {})[output] = int(value == "1")
    word, seen = 0, []
    for at in sorted(levels):
        for output, level in levels[at].items():
            word = word & ~(1 << output) | level << output
        seen.append((at, word))
    begun = next(n for n, (_, word) in enumerate(seen) if word == machine.idle_word)
    edges = settled(changes_of(seen[begun:]))[1:]
    expected = planned([tables.home, *tables.tables], machine.idle_word)
    assert_same_edges(edges[: len(planned([tables.home], machine.idle_word))], expected[:4])
    shown = planned(tables.tables, machine.idle_word)
    assert_same_edges(edges[4 : 4 + len(shown)], shown)


def changes_of(edges: Sequence[tuple[float, int]]) -> list[tuple[float, int]]:
    """The edges without those that change nothing."""
    return [edge for rank, edge in enumerate(edges) if not rank or edge[1] != edges[rank - 1][1]]


def test_port_expanders_take_the_same_words(emulator: Path, tmp_path: Path) -> None:
    machine = machine_of(20, low=True)
    tables = programme(machine)
    wired = target("avr_i2c")
    ran = controller(emulator, tmp_path, wired, machine, tables, serial=False).run(["for 2400000"])
    edges = settled(ran.edges, within_us=400)
    home = planned([tables.home], machine.idle_word)
    shown = planned(tables.tables, machine.idle_word)
    assert [word for _, word in edges[: len(home)]] == [word for _, word in home]
    assert_same_edges(edges[len(home) :][: len(shown)], shown)


def test_outputs_are_inactive_before_they_are_driven(chained: Controller) -> None:
    ran = chained.run(["for 6000"])
    assert ran.edges == ()


def test_commands_are_answered_with_what_was_done_and_the_checksum(chained: Controller) -> None:
    checksum = f"{checksum_of(CHAIN, numerals(CHAIN, clear=True)):04X}"
    script = ["for 40000", "send status", "for 300000", "send status", "send show 3", "send show 4"]
    script += ["for 700000", "send status", "send show 10", "send show", "send show 1x"]
    script += ["send shown 1", "send show 99999999999", "send stop", "send show 1", "send home"]
    script += ["for 300000", "send  status", "send status"]
    ran = chained.run(script)
    assert ran.answers == [
        f"status homing - {checksum}",
        f"status ready - {checksum}",
        f"show busy - {checksum}",
        f"busy busy - {checksum}",
        f"status ready 3 {checksum}",
        *[f"unknown ready 3 {checksum}"] * 5,
        f"stop stopped 3 {checksum}",
        f"busy stopped 3 {checksum}",
        f"home homing - {checksum}",
        f"unknown ready - {checksum}",
        f"status ready - {checksum}",
    ]


def checksum_of(machine: Machine, tables: TableSet) -> int:
    """The checksum of the tables."""
    return build_of(AVR, machine, tables).image.checksum


def test_a_programme_is_driven_over_the_line(emulator: Path, tmp_path: Path) -> None:
    tables = programme(CHAIN)
    built = controller(emulator, tmp_path, AVR, CHAIN, tables)
    script = ["for 200000", "send run", "for 100000", "send pause", "for 400000", "send status"]
    script += ["for 500000", "send resume", "for 1000", "send status", "send run", "send stop"]
    ran = built.run([*script, "send resume", "send show 1"])
    words = [answer.split()[:2] for answer in ran.answers]
    assert words == [
        ["run", "busy"],
        ["pause", "busy"],
        ["status", "paused"],
        ["resume", "busy"],
        ["status", "busy"],
        ["busy", "busy"],
        ["stop", "stopped"],
        ["resume", "stopped"],
        ["unknown", "stopped"],
    ]


@pytest.mark.thorough
def test_a_busy_serial_line_moves_no_edge(emulator: Path, tmp_path: Path) -> None:
    tables = programme(CHAIN)
    built = controller(emulator, tmp_path, AVR, CHAIN, tables)
    ran = built.run(["for 250000", "send run", *["send status"] * 150])
    shown = planned([*tables.tables, *tables.tables[:2]], CHAIN.idle_word)
    home = len(planned([tables.home], CHAIN.idle_word))
    assert_same_edges(ran.edges[home : home + len(shown)], shown)
    assert len(ran.answers) == 151


def test_a_stop_command_makes_the_outputs_inactive_at_once(chained: Controller) -> None:
    ran = chained.run(["for 250000", "send show 1", "for 95000", "mark", "send stop", "for 200000"])
    (mark,) = ran.marks
    before = [word for at, word in ran.edges if at <= mark]
    assert before[-1] != CHAIN.idle_word, "a pulse was on"
    ((at, word),) = [edge for edge in ran.edges if edge[0] > mark]
    assert word == CHAIN.idle_word
    assert at - mark < 20_000
    assert at - ran.edges[-2][0] < 40_000, "the pulse was cut"


def test_sizes_are_within_their_limits(emulator: Path, tmp_path: Path) -> None:
    for name, tables in (("glyphs", numerals(CHAIN)), ("programme", programme(CHAIN))):
        built = controller(emulator, tmp_path / name, AVR, CHAIN, tables, serial=False)
        image = build_of(AVR, CHAIN, tables).image
        flash, ram = built.size()
        player = flash - len(image.data) - image.shape.word
        print(f"\n{name}: player {player} bytes of flash, {ram} of RAM, tables {len(image.data)}")
        assert player <= 4480
        assert ram <= 144


def test_more_outputs_than_pins_are_refused() -> None:
    machine = pins_machine(19)
    with pytest.raises(InputError, match=r"19 outputs need a pin of their own, .* has 18"):
        render(AVR, machine, numerals(machine))


def test_more_port_expanders_than_addresses_are_refused() -> None:
    machine = machine_of(65, low=True)
    with pytest.raises(InputError, match="65 outputs take 9 port expanders"):
        render(target("avr_i2c"), machine, numerals(machine))


def test_active_high_drivers_on_port_expanders_are_refused() -> None:
    machine = machine_of(8, low=False)
    with pytest.raises(InputError, match="every pin high from power-on"):
        render(target("avr_i2c"), machine, numerals(machine))


def test_shift_registers_with_another_bus_between_are_refused() -> None:
    machine = machine_of(8, 4, 8)
    buses = tuple(replace(bus, shift_register=n != 1) for n, bus in enumerate(machine.buses))
    with pytest.raises(InputError, match="another bus stands between"):
        render(AVR, replace(machine, buses=buses), numerals(machine))
