"""Machines written as a maker would write them are read, replayed and built for a controller."""

from __future__ import annotations

import csv
import os
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from colon_clock import TEXT as CLOCK_WITH_A_COLON
from framed import FRAMED, PARTS

import seqc
from seqc.cli.main import main
from seqc.machine.findings import Findings
from seqc.machine.model import Machine
from seqc.machine.parts import Cell
from seqc.report.check_text import feed_words

TWO_CARDS = f"""
# Three columns by five rows, wired in the order in which the wires happened to be at hand.
machine slipway_number
{PARTS}
grid numeral {{ columns 3  rows 5 }}
lane numeral = shown <- swap <- drop <- pick(slate, chalk)
selector pick {{ per row     coil small  settle 8 ms }}
gate     drop {{ per column  coil small  open 45 ms  refill 60 ms }}
gate     swap {{ whole grid  coil small  open 70 ms }}
path drop -> swap  {{ falls in 150 ms }}
path swap -> shown {{ falls in 90 ms }}
relay card {{ operate 8 ms  release 5 ms }}
outputs left  {{ bits 8   shift register  active low  counted from 1 }}
outputs right {{ bits 16  shift register  active low  counted from 1 }}
drive pick {{
    changeover pair  relay card  from left at 8, 7, 3, 1  from right at 5, 6, 16, 15, 2, 1
}}
drive drop {{ changeover pair  relay card  from right at 3, 4, 7, 8  from left at 2, 4 }}
drive swap {{ changeover pair  relay card  from right at 11 }}
font own for numeral {{
    mark "#" slate
    mark "." chalk
    glyph "1" {{ |.#.| |##.| |.#.| |.#.| |###| }}
    glyph "2" {{ |##.| |..#| |.#.| |#..| |###| }}
}}
programme count {{ show "12"  every 2 s  repeat }}
"""

THREE_KINDS = f"""
machine chandler_sign
{PARTS}
item amber {{ tone middle  stock 200 }}
grid letter {{ columns 5  rows 7 }}
lane letter = shown <- swap <- drop <- pick(slate, tint(chalk, amber))
selector pick {{ per row     coil small  settle 8 ms }}
selector tint {{ per row     coil small  settle 8 ms }}
gate     drop {{ per column  coil small  open 45 ms  refill 60 ms }}
gate     swap {{ whole grid  coil small  open 70 ms }}
path drop -> swap  {{ falls in 150 ms }}
path swap -> shown {{ falls in 90 ms }}
outputs bus {{ bits 40  shift register }}
drive pick, tint, drop, swap {{ bridge  dead time 1 ms  from bus }}
font own for letter {{
    mark "#" slate
    mark "." chalk
    mark "o" amber
    glyph "A" {{ |.###.| |#ooo#| |#ooo#| |#####| |#ooo#| |#ooo#| |#...#| }}
    glyph "H" {{ |#...#| |#...#| |#ooo#| |#####| |#ooo#| |#...#| |#...#| }}
}}
programme sign {{ show "AH"  every 5 s  repeat }}
"""

ONE_LANE = f"""
machine test_rig
{PARTS}
grid cell {{ columns 1  rows 1 }}
lane cell = shown <- drop <- pick(slate, chalk)
selector pick {{ per cell  coil small  settle 8 ms }}
gate     drop {{ per cell  coil small  open 45 ms  refill 60 ms }}
path drop -> shown {{ fall 120 mm  settle 80 ms }}
relay card {{ operate 8 ms  release 5 ms }}
outputs bus {{ bits 4 }}
drive pick, drop {{ changeover pair  relay card  from bus }}
font own for cell {{
    mark "#" slate
    mark "." chalk
    glyph "a" {{ |#| }}
    glyph "b" {{ |.| }}
}}
programme try {{ show "ab"  every 1 s  repeat }}
"""

DEBIAN_FONT = f"""
machine harbour_office
{PARTS}
grid picture {{ columns 16  rows 16 }}
lane picture = shown <- swap <- drop <- pick(slate, chalk)
selector pick {{ per row     coil small  settle 8 ms }}
gate     drop {{ per column  coil small  open 45 ms  refill 60 ms }}
gate     swap {{ whole grid  coil small  open 70 ms }}
path drop -> swap  {{ falls in 150 ms }}
path swap -> shown {{ falls in 90 ms }}
outputs bus {{ bits 72  shift register }}
drive pick, drop, swap {{ bridge  dead time 1 ms  from bus }}
font plain for picture from "unifont.hex" {{ ink slate  paper chalk }}
programme open {{ show "OK"  every 30 s  repeat }}
"""

MACHINES = {
    "two_cards": TWO_CARDS,
    "three_kinds": THREE_KINDS,
    "one_lane": ONE_LANE,
    "framed": FRAMED,
    "clock_with_a_colon": CLOCK_WITH_A_COLON,
}


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, list(arguments))


def machine_at(text: str, folder: Path) -> tuple[Path, Machine]:
    path = folder / "machine.lanes"
    path.write_text(text, "utf-8")
    return path, seqc.read(path, Findings())


@pytest.mark.quick(4)
@pytest.mark.parametrize("name", MACHINES)
def test_a_maker_s_machine_is_built_for_a_controller(name: str, tmp_path: Path) -> None:
    path, _ = machine_at(MACHINES[name], tmp_path)
    checked = run("check", str(path))
    assert checked.exit_code == 0, checked.output
    built = run("build", str(path), "--target", "avr", "--out", str(tmp_path / "out"))
    assert built.exit_code == 0, built.output
    assert (tmp_path / "out" / "avr" / "seqc_tables.c").exists()


def test_cells_that_never_change_have_no_selector_and_mirrored_ones_offer_the_second_input(
    tmp_path: Path,
) -> None:
    path, machine = machine_at(FRAMED, tmp_path)
    (lane,) = machine.lanes
    frame = [cell for cell in lane.grid.cells if cell.row in (1, 7) or cell.column in (1, 5)]
    picks = [one for one in machine.actuators if one.part.name == "pick"]
    assert [one.name for one in picks] == [f"pick.r{row}" for row in range(2, 7)]
    assert not any(one.cell_set.intersection(frame) for one in picks)
    assert {str(feed_words(lane.feed_of(cell))) for cell in frame} == {"slate"}
    assert feed_words(lane.feed_of(Cell(4, 2))) == "pick(slate, chalk)"
    assert feed_words(lane.feed_of(Cell(4, 3))) == "pick(chalk, slate)"
    # With the middle column turned round, "1" has three columns alike: one pass loads them all.
    planned = run("plan", str(path), "--show", "1")
    assert '"1"   1 pass' in planned.output
    text = FRAMED.replace('glyph "1" { |.....|', 'glyph "1" { |#....|')
    lost, _ = machine_at(text, tmp_path)
    checked = run("check", str(lost))
    assert checked.exit_code == 1
    assert "glyph '1' is out of reach: no chalk is offered in row 1 column 1" in checked.output
    assert "'1': 1 cell wrong (proven fewest)" in checked.output


OWN_SELECTOR = FRAMED.replace(
    "lane numeral = shown <- swap <- drop <- slate on",
    "item amber { tone gold }\nselector tint { whole grid  coil small }\n"
    "lane numeral = shown <- swap <- drop <- tint(slate, amber) on",
).replace("drive pick,", "drive pick, tint,")


def test_a_lane_of_some_cells_may_have_a_selector_of_its_own(tmp_path: Path) -> None:
    text = OWN_SELECTOR.replace("rows 7 }", "rows 7  copies 2 }").replace("bits 24", "bits 48")
    text = text.replace("012", "0120")
    path, machine = machine_at(text, tmp_path)
    for lane in machine.lanes:
        assert feed_words(lane.feed_of(Cell(1, 1))) == "tint(slate, amber)"
        assert feed_words(lane.feed_of(Cell(2, 3))) == "pick(chalk, slate)"
        own = [one for one in machine.actuators if one.grid == lane.grid]
        (tint,) = (one for one in own if one.part.name == "tint")
        assert len(tint.cells) == 20
    seen = run("simulate", str(path), "--only", "amber")
    assert seen.exit_code == 0, seen.output
    assert "no fault" in seen.output
    assert "40 amber" in seen.output


@pytest.mark.quick(0)
@pytest.mark.parametrize(
    "words", [("forecast", "--for", "1h"), ("diagnose",), ("simulate", "--only", "chalk")]
)
def test_cells_with_lanes_of_their_own_are_told_by_every_command(
    words: tuple[str, ...], tmp_path: Path
) -> None:
    path, _ = machine_at(FRAMED, tmp_path)
    command, *options = words
    told = run(command, str(path), *options)
    assert not isinstance(told.exception, Exception), told.output
    assert told.output


def test_linkages_are_not_sought_where_cells_differ(tmp_path: Path) -> None:
    path, _ = machine_at(FRAMED, tmp_path)
    told = run("linkages", str(path))
    assert told.exit_code == 2
    assert "linkages of grid `numeral` aren't sought, since some cells differ" in told.output


def test_members_of_one_linkage_hang_on_two_cards_as_they_are_wired(tmp_path: Path) -> None:
    path, machine = machine_at(TWO_CARDS, tmp_path)
    outputs = {actuator.name: actuator.outputs for actuator in machine.actuators}
    # The left card has outputs 0 to 7 of the controller, the right one 8 to 23; cards count from 1.
    assert outputs["pick.r1"] == (8 - 1, 7 - 1)
    assert outputs["pick.r2"] == (3 - 1, 1 - 1)
    assert outputs["pick.r3"] == (8 + 5 - 1, 8 + 6 - 1)
    assert outputs["drop.c3"] == (2 - 1, 4 - 1)
    assert outputs["swap"] == (8 + 11 - 1, 8 + 12 - 1)
    run("build", str(path), "--target", "wiring", "--out", str(tmp_path / "out"))
    lines = (tmp_path / "out" / "wiring" / "seqc_wiring.csv").read_text("utf-8").splitlines()
    rows = [row for row in csv.DictReader(lines) if row["actuator"] == "pick.r3"]
    assert [(row["bus"], row["bus_bit"], row["relay"]) for row in rows] == [
        ("right", "5", "right 5 (card)"),
        ("right", "6", "right 6 (card)"),
    ]


UNIFONT = Path("/usr/share/unifont/unifont.hex")


@pytest.mark.skipif(
    not UNIFONT.exists() and not os.environ.get("SEQC_NO_SKIP"), reason="not installed: unifont"
)
def test_a_large_board_shows_a_font_of_debian(tmp_path: Path) -> None:
    lines = UNIFONT.read_text("ascii").splitlines()
    (tmp_path / "unifont.hex").write_text("\n".join(lines[:256]) + "\n", "ascii")
    path, machine = machine_at(DEBIAN_FONT, tmp_path)
    assert len(machine.actuators) == 16 + 16 + 1
    built = run("build", str(path), "--target", "avr", "--out", str(tmp_path / "out"))
    assert built.exit_code == 0, built.output
