"""Machines written as a maker would write them are read, replayed and built for a controller."""

from __future__ import annotations

import csv
import os
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

import seqc
from seqc.cli.main import main
from seqc.machine.findings import Findings
from seqc.machine.model import Machine

PARTS = """
item slate { tone dark   stock 200 }
item chalk { tone light  stock 200 }
coil small { 12 V  12 ohm  9 mH  pulse 30 ms  travel 16 ms  minimum off 40 ms }
supply bench { 12 V  limit 6 A  margin 20 % }
tolerance 2 %
"""

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
}


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, list(arguments))


def machine_at(text: str, folder: Path) -> tuple[Path, Machine]:
    path = folder / "machine.lanes"
    path.write_text(text, "utf-8")
    return path, seqc.read(path, Findings())


@pytest.mark.parametrize("name", MACHINES)
def test_a_maker_s_machine_is_built_for_a_controller(name: str, tmp_path: Path) -> None:
    path, _ = machine_at(MACHINES[name], tmp_path)
    checked = run("check", str(path))
    assert checked.exit_code == 0, checked.output
    built = run("build", str(path), "--target", "avr", "--out", str(tmp_path / "out"))
    assert built.exit_code == 0, built.output
    assert (tmp_path / "out" / "avr" / "seqc_tables.c").exists()


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
