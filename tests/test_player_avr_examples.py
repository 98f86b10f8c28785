"""Both examples on an emulated ATmega328P: edges in time, every glyph seen, resets survived."""

from __future__ import annotations

import itertools
import random
from collections.abc import Sequence
from pathlib import Path

import pytest
from boards import SHOWING
from examples_on_disk import machine_of, tables_of
from firmware.emulated import TOOLS, Ran, build_emulator, chain_in_waves, controller, settled
from firmware.host import changes, edges_of, needs, target

from seqc.codegen import sizes
from seqc.codegen.rendering import build_of
from seqc.codegen.view import Build
from seqc.examples import EXAMPLES
from seqc.machine.model import Machine
from seqc.machine.steptable import TableSet, TablesFor
from seqc.simulator import replay_edges
from seqc.simulator.faults import FaultKind

pytestmark = needs(*TOOLS)

AVR = target("avr")
WITHIN_US = 20

STACK_BYTES = 128
"""What calls and an interrupt take of the RAM besides, at most (from memory)."""


@pytest.fixture(scope="module")
def emulator(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build_emulator(tmp_path_factory.mktemp("emulator"))


def recording(ran: Ran, machine: Machine) -> list[tuple[int, int]]:
    """What a run put out, from the idle word on, in whole microseconds."""
    return [(0, machine.idle_word), *((round(at), word) for at, word in settled(ran.edges))]


def home_end_us(ran: Ran, tables: TableSet) -> float:
    """When home ended, by its first edge."""
    first = next(step.at_us for step in tables.home.steps if step.word != tables.idle_word)
    return ran.edges[0][0] - first + tables.home.length_us


def assert_waves_agree(waves: Path, build: Build, edges: Sequence[tuple[float, int]]) -> None:
    """What the chain shows by simavr's waveform of its pins is what the edges have of it."""
    chain = build.board.chain
    assert chain is not None
    mask = (1 << chain.bits) - 1
    expected = [(0.0, build.image.idle_word & mask), *((at, word & mask) for at, word in edges)]
    shown, wanted = (
        [later for before, later in itertools.pairwise(row) if later[1] != before[1]]
        for row in (chain_in_waves(waves, chain.bits), expected)
    )
    assert [word for _, word in shown] == [word for _, word in wanted]
    assert all(abs(at - due) < 5 for (at, _), (due, _) in zip(shown, wanted, strict=True))
    assert len(shown) > 100


@pytest.mark.quick(0)
@pytest.mark.parametrize("example", sorted(EXAMPLES))
def test_a_whole_programme_is_kept_and_shows_every_glyph(
    example: str, emulator: Path, tmp_path: Path
) -> None:
    machine = machine_of(example, tmp_path)
    tables = tables_of(machine, TablesFor.PROGRAMME)
    built = controller(emulator, tmp_path / "avr", AVR, machine, tables, serial=False)
    clear = [tables.clear] if tables.clear else []
    run = [*clear, *tables.tables, *tables.tables[tables.repeat_from or 0 :]]
    length_us = tables.home.length_us + sum(table.length_us for table in run)
    ran = built.run([f"for {length_us + 1_000_000}"], tmp_path / "pins.vcd")
    edges = settled(ran.edges)
    assert_waves_agree(tmp_path / "pins.vcd", build_of(AVR, machine, tables), edges)

    home = changes([(-1, machine.idle_word), *edges_of(tables.home)])[1:]
    planned = [(-1, machine.idle_word)]
    ends = []
    at_us = 0
    for table in run:
        planned += edges_of(table, at_us)
        at_us += table.length_us
        ends.append(at_us)
    planned = changes(planned)[1:]
    shown = edges[len(home) :][: len(planned)]
    assert [word for _, word in edges[: len(home)]] == [word for _, word in home]
    assert [word for _, word in shown] == [word for _, word in planned]
    offset = shown[0][0] - planned[0][0]
    worst = max(abs(at - offset - due) for (at, _), (due, _) in zip(shown, planned, strict=True))
    print(f"\n{example}: {len(shown)} edges, none more than {worst:.1f} us from its time")
    assert worst <= WITHIN_US

    looks = [round(offset + end) - 1 for end in ends]
    recorded = [edge for edge in recording(ran, machine) if edge[0] <= looks[-1]]
    replay = replay_edges(machine, recorded, looks=looks, stock=False, tolerance_us=2 * WITHIN_US)
    assert not replay.faults
    glyphs = machine.fonts[0].by_name
    seen = {
        name
        for table, look in zip(run, replay.seen, strict=True)
        for grid, name in table.shows
        if look.pictures[grid] == glyphs[name].kinds
    }
    assert seen == {glyph.name for frame in machine.programmes[0].frames for glyph in frame}


@pytest.mark.quick(1)
@pytest.mark.parametrize("tables_for", SHOWING, ids=lambda tables_for: tables_for.value)
@pytest.mark.parametrize("example", sorted(EXAMPLES))
def test_the_player_with_its_cap_takes_less_than_five_kibibytes_and_a_quarter_of_one_of_ram(
    example: str, tables_for: TablesFor, emulator: Path, tmp_path: Path
) -> None:
    machine = machine_of(example, tmp_path)
    tables = tables_of(machine, tables_for)
    built = controller(emulator, tmp_path / "avr", AVR, machine, tables, serial=False)
    whole = controller(emulator, tmp_path / "serial", AVR, machine, tables)
    image = build_of(AVR, machine, tables).image
    flash, ram = built.size()
    player = flash - len(image.data) - image.shape.word
    print(
        f"\n{example} {tables_for.value}: player {player} + tables {len(image.data)} bytes, "
        f"{ram} of RAM; with the line {whole.size()[0] - flash} and {whole.size()[1] - ram} more"
    )
    assert player <= 4608
    assert ram <= 256
    foretold = sizes(AVR, machine, tables)
    assert foretold is not None
    assert whole.size()[0] <= foretold.flash_bytes
    assert whole.size()[1] + STACK_BYTES <= foretold.ram_bytes


def test_tables_of_ten_numerals_with_their_limits_take_about_a_kibibyte(tmp_path: Path) -> None:
    machine = machine_of("berth_board", tmp_path)
    tables = tables_of(machine, TablesFor.GLYPH)
    size = len(build_of(AVR, machine, tables).image.data)
    print(f"\nten numerals: {len(tables.tables)} tables, {size} bytes")
    assert len(tables.tables) == 10
    assert size <= 1100


BY_A_CUT_PULSE = {FaultKind.PULSE_TOO_SHORT, FaultKind.ARRIVES_AT_OPEN_GATE}
"""What a reset does by itself: it cuts a pulse short, and a gate that was to close stays open."""


@pytest.mark.thorough
def test_the_next_glyph_is_right_after_a_reset_at_any_moment(
    emulator: Path, tmp_path: Path
) -> None:
    machine = machine_of("berth_board", tmp_path)
    tables = tables_of(machine, TablesFor.GLYPH)
    built = controller(emulator, tmp_path / "avr", AVR, machine, tables)
    assert tables.clear
    rest_us = build_of(AVR, machine, tables).image.rest_us
    ready_us = rest_us + tables.home.length_us + 500_000
    longest_us = tables.clear.length_us + max(table.length_us for table in tables.tables)
    chance = random.Random(11)
    names = [name for table in tables.tables for _, name in table.shows]
    script, wanted = [], []
    for _ in range(100):
        spoilt, good = chance.randrange(10), chance.randrange(10)
        script += [f"for {ready_us}", f"send show {spoilt}", f"for {chance.randrange(longest_us)}"]
        script += ["reset", f"for {ready_us}", f"send show {good}", f"for {longest_us + 100_000}"]
        script += ["mark"]
        wanted.append(names[good])
    ran = built.run(script)
    looks = [round(at) for at in ran.marks]
    edges = [edge for edge in recording(ran, machine) if edge[0] <= looks[-1]]
    replay = replay_edges(machine, edges, looks=looks, stock=False, tolerance_us=2 * WITHIN_US)
    glyphs = machine.fonts[0].by_name
    grid = machine.grids[0].name
    right = [
        look.pictures[grid] == glyphs[name].kinds
        for look, name in zip(replay.seen, wanted, strict=True)
    ]
    kinds = {fault.kind for fault in replay.faults}
    print(f"\nresets {len(ran.resets)}, glyphs right after them {sum(right)}, faults {kinds}")
    assert len(ran.resets) >= 100
    assert all(right)
    assert kinds <= BY_A_CUT_PULSE
