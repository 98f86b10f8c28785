"""Every construct of the language comes out as the machine that it means."""

from __future__ import annotations

import pathlib

import pytest
from malformed import BOARD, LANE, own_lane

from seqc.language import Declared, read_text
from seqc.language.declared import Align, Seat
from seqc.machine.electrics import Bus, Coil, DriveKind, Supply
from seqc.machine.findings import Findings
from seqc.machine.parts import Branch, Cell, Item, LinkageKind, Part

BERTH = """\
# Berth number board: one numeral of glazed beads, renewed on every tick.
machine berth_board

item slate { tone dark   stock 260 }
item chalk { tone light  stock 260 }

grid numeral { columns 4  rows 6 }

# Read from the place that is seen back to the magazines.
lane numeral = shown <- swap <- drop <- pick(slate, chalk)

selector pick { per row     coil small  settle 10 ms }
gate     drop { per column  coil small  open 60 ms  refill 70 ms }
gate     swap { whole grid  coil large  open 80 ms }

path drop -> swap  { roll 120 mm at 9 deg }
path swap -> shown { roll 35 mm at 11 deg  settle 90 ms }

coil small {
    12 V  8.2 ohm  9 mH  pulse 40 ms  travel 18 ms  minimum off 60 ms  duty 10 %  life 2000000
}
coil large {
    12 V  5.6 ohm  14 mH  pulse 60 ms  travel 25 ms  minimum off 90 ms  duty 10 %  life 1000000
}

relay card { operate 10 ms  release 6 ms  contact life 100000  mechanical life 10000000 }
outputs bus { bits 24  shift register  active low }
drive pick, drop, swap { changeover pair  relay card  from bus }
supply bench { 12 V  limit 4 A  margin 20 % }

font harbour for numeral {
    mark "#" slate
    mark "." chalk
    glyph "0" {
        |.##.|
        |#..#|
        |#..#|
        |#..#|
        |#..#|
        |.##.|
    }
}

programme count { show "0000"  every 1 s  repeat }
"""

RICH = """\
machine quay_board  # every construct once
item slate { tone dark diameter 8 mm }
item chalk { tone light stock 400 diameter 7.5 mm }
item amber { tone warm }

grid left { shape { |.--.|  # two cells are absent
                    |....| } }
grid right { columns 3 rows 2 }

lane left = spill <- dump <- shown <- swap <- hold <- drop <- pick(slate, tint(chalk, amber))
lane right = shown <- fall <- pick2(slate, chalk)

selector pick { map { |a  a| |abba| } coil small settle 5 ms }
selector tint { per cell coil small }
selector pick2 { per column coil small }
gate drop { per column coil small open 60 ms refill 0.07 s }
gate hold { per row coil small open 60 ms settle 2 ms }
gate swap { whole grid coil large open 80 ms }
gate dump { whole grid coil large open 80 ms }
gate spill { whole grid coil large open 80 ms }
gate fall { per row coil large open 50 ms }

path drop -> hold { falls in 330 ms }
path hold -> swap { fall 50 mm settle 20 ms }
path swap -> shown { roll 200 mm at 10 deg in groove 90 deg }
path fall -> shown { roll 0.2 m at 5 deg on rails 5 mm }

coil small { 12 V 8 ohm pulse 40 ms max pulse 50 ms travel 18 ms }
coil large { 24 V 12 ohm 9 mH pulse 60 ms travel 25 ms minimum off 1 s }

relay card { operate 10 ms release 6 ms }
outputs first { bits 64 active low }
outputs second { bits 40 direct pins active high }
supply twelve { 12 V limit 6 A margin 20 % }
supply double { 24 V limit 8 A }

drive pick, tint, drop { changeover pair relay card from first on twelve }
drive hold { bridge dead time 1 ms from first at 40 on twelve }
drive pick2 { bridge dead time 50 us from second at 8, 3, 9, 2, 10, 1 on twelve }
drive swap, dump, spill { shared reverser relay card pulse switch from second on double }
drive fall { bridge dead time 1 ms pulse switch from second on double }

font tall for left {
    mark "#" slate  mark "." chalk  mark "o" amber
    glyph "\\"" { |#  #| |.oo.| }
    glyph "rest" { |.| }
    align left  seat baseline  baseline row 1
}
font wide for right from "fonts/wide.bdf" { ink slate paper chalk align right seat top }
font other for right from "other.bdf" { ink slate paper chalk }

programme tick { show "\\"\\"" on left show "01" in wide every 2 min repeat }
programme tock { show "01" on right every 1500 ms }
"""


def read_good(text: str) -> Declared:
    findings = Findings()
    declared = read_text(text, "quay.lanes", findings)
    assert [str(finding) for finding in findings] == []
    assert declared is not None
    return declared


def test_design_example_in_its_text_form() -> None:
    assert (
        str(read_good(BERTH).machine)
        == """\
machine berth_board
  numeral: shown <- swap <- drop
  pick.r1: outputs 0 1, 4 cells
  pick.r2: outputs 2 3, 4 cells
  pick.r3: outputs 4 5, 4 cells
  pick.r4: outputs 6 7, 4 cells
  pick.r5: outputs 8 9, 4 cells
  pick.r6: outputs 10 11, 4 cells
  drop.c1: outputs 12 13, 6 cells
  drop.c2: outputs 14 15, 6 cells
  drop.c3: outputs 16 17, 6 cells
  drop.c4: outputs 18 19, 6 cells
  swap: outputs 20 21, 24 cells"""
    )


def test_design_example_in_figures() -> None:
    machine = read_good(BERTH).machine
    small, large = (machine.gates[n].coil for n in (0, 1))
    (lane,) = machine.lanes
    assert (machine.items[0].tone, machine.items[0].stock) == ("dark", 260)
    assert machine.selectors[0].settle_us == 10_000
    assert (machine.gates[0].open_us, machine.gates[0].refill_us) == (60_000, 70_000)
    assert (small.voltage_mv, small.resistance_mohm, small.inductance_uh) == (12_000, 8_200, 9_000)
    assert (small.pulse_us, small.longest_us, small.travel_us) == (40_000, 80_000, 18_000)
    assert (small.recover_us, small.duty_ppm, small.life) == (60_000, 100_000, 2_000_000)
    assert (large.resistance_mohm, large.inductance_uh) == (5_600, 14_000)
    assert machine.supplies[0].usable_ua == 3_333_333
    assert machine.idle_word == (1 << 24) - 1
    assert machine.buses[0].shift_register
    relay = machine.actuators[0].drive.relay
    assert relay is not None
    assert (relay.operate_us, relay.release_us) == (10_000, 6_000)
    assert (relay.contact_life, relay.mechanical_life) == (100_000, 10_000_000)
    assert [path.course for path in lane.paths] == ["roll 120 mm at 9 deg", "roll 35 mm at 11 deg"]
    assert [path.settle_us for path in lane.paths] == [0, 90_000]


def test_design_example_hands_on_its_font_and_programme() -> None:
    declared = read_good(BERTH)
    (font,), (programme,) = declared.fonts, declared.programmes
    assert [(mark.sign, mark.item) for mark in font.marks] == [("#", "slate"), (".", "chalk")]
    (glyph,) = font.glyphs
    assert glyph.name == "0"
    assert glyph.art.rows == (".##.", "#..#", "#..#", "#..#", "#..#", ".##.")
    assert [(place.line, place.column) for place in glyph.art.places][:2] == [(35, 10), (36, 10)]
    assert (font.align, font.seat, font.baseline_row) == (Align.CENTRE, Seat.MIDDLE, None)
    (show,) = programme.shows
    assert (show.text, show.grid, show.font) == ("0000", "numeral", "harbour")
    assert (programme.every_us, programme.repeat) == (1_000_000, True)


def test_absent_cells_and_several_grids() -> None:
    left, right = read_good(RICH).machine.grids
    assert (left.rows, left.columns) == (2, 4)
    assert left.cells == (Cell(1, 1), Cell(1, 4), *(Cell(2, column) for column in range(1, 5)))
    assert (right.rows, right.columns, len(right.cells)) == (2, 3, 6)


def test_stations_from_the_top_to_the_bottom() -> None:
    lane = read_good(RICH).machine.lane_of("left")
    assert [gate.name for gate in lane.gates] == ["drop", "hold", "swap", "dump", "spill"]
    assert [gate.name for gate in lane.transfers] == ["hold", "swap"]
    assert [gate.name for gate in lane.dumps] == ["dump", "spill"]
    assert [(path.source, path.target) for path in lane.paths] == [
        ("drop", "hold"),
        ("hold", "swap"),
        ("swap", "shown"),
    ]


def test_first_input_is_offered_at_rest() -> None:
    feed = read_good(RICH).machine.lane_of("left").feed
    assert isinstance(feed, Branch)
    assert isinstance(feed.rest, Item)
    assert isinstance(feed.thrown, Branch)
    assert isinstance(feed.thrown.rest, Item)
    assert isinstance(feed.thrown.thrown, Item)
    assert feed.selector.name == "pick"
    assert [feed.rest.name, feed.thrown.rest.name, feed.thrown.thrown.name] == [
        "slate",
        "chalk",
        "amber",
    ]


def test_all_five_linkages() -> None:
    machine = read_good(RICH).machine
    parts: list[Part] = [*machine.selectors, *machine.gates]
    kinds = {part.name: part.linkage.kind for part in parts}
    assert kinds["pick"] is LinkageKind.MAP
    assert kinds["tint"] is LinkageKind.CELL
    assert kinds["drop"] is LinkageKind.COLUMN
    assert kinds["hold"] is LinkageKind.ROW
    assert kinds["swap"] is LinkageKind.GRID
    left, _ = machine.grids
    groups = machine.selectors[0].linkage.groups(left.cells)
    assert {label: len(cells) for label, cells in groups.items()} == {"a": 4, "b": 2}


def test_paths_with_given_and_computed_times() -> None:
    machine = read_good(RICH).machine
    falls, fall, groove = machine.lane_of("left").paths
    (rails,) = machine.lane_of("right").paths
    assert (falls.fall_us, falls.course) == (330_000, "falls in 330 ms")
    # A free fall of 0.05 m takes 0.10098 s, computed from t = sqrt(2 h / g).
    assert fall.fall_us == pytest.approx(100_980, abs=10)
    assert (fall.settle_us, fall.course) == (20_000, "fall 50 mm")
    # 0.2 m on a plane of 10 deg takes 0.5735 s with 5/7 g sin t (OpenStax University Physics 1,
    # 11.1); a groove of 90 deg has 0.5556 in place of 5/7.
    assert groove.fall_us == pytest.approx(573_500 * (5 / 7 / 0.5556) ** 0.5, rel=1e-3)
    assert groove.course == "roll 200 mm at 10 deg in groove 90 deg"
    assert rails.course == "roll 0.2 m at 5 deg on rails 5 mm"


def test_slowest_item_sets_the_time_on_rails() -> None:
    (rails,) = read_good(RICH).machine.lane_of("right").paths
    alone = RICH.replace("diameter 7.5 mm", "diameter 8 mm")
    (less,) = read_good(alone).machine.lane_of("right").paths
    assert rails.fall_us > less.fall_us


def test_outputs_of_every_kind_of_drive() -> None:
    machine = read_good(RICH).machine
    outputs = {actuator.name: actuator.outputs for actuator in machine.actuators}
    assert outputs["pick.a"] == (0, 1)
    assert outputs["pick.b"] == (2, 3)
    assert outputs["tint.r1c1"] == (4, 5)
    assert outputs["tint.r2c4"] == (14, 15)
    assert outputs["drop.c1"] == (16, 17)
    assert [outputs[f"drop.c{n}"] for n in (2, 3, 4)] == [(18, 19), (20, 21), (22, 23)]
    assert (outputs["hold.r1"], outputs["hold.r2"]) == ((40, 41), (42, 43))
    assert [outputs[f"pick2.c{n}"] for n in (1, 2, 3)] == [(72, 67), (73, 66), (74, 65)]
    # After the last one of the list, 64 + 1, come the lowest free ones.
    assert [outputs[name] for name in ("swap", "dump", "spill")] == [(68,), (69,), (70,)]
    assert outputs["fall.r1"] == (76, 77)
    assert outputs["fall.r2"] == (78, 79)
    swap, fall = (
        next(a.drive for a in machine.actuators if a.part.name == name) for name in ("swap", "fall")
    )
    assert (swap.reverser, swap.switch) == (71, 75)
    assert (fall.reverser, fall.switch) == (None, 80)


def test_drives_with_their_parts() -> None:
    machine = read_good(RICH).machine
    drives = {drive.parts: drive for drive in (actuator.drive for actuator in machine.actuators)}
    pair = drives["pick", "tint", "drop"]
    bridge = drives["pick2",]
    shared = drives["swap", "dump", "spill"]
    assert pair.kind is DriveKind.CHANGEOVER_PAIR
    assert pair.relay is not None
    assert (bridge.kind, bridge.dead_us, bridge.relay) == (DriveKind.BRIDGE, 50, None)
    assert shared.kind is DriveKind.SHARED_REVERSER
    assert (pair.supply.name, shared.supply.name) == ("twelve", "double")


def test_buses_are_numbered_on() -> None:
    first, second = read_good(RICH).machine.buses
    assert (first.first, second.first) == (0, 64)
    assert (first.active_low, second.active_low) == (True, False)
    assert not second.shift_register


def test_fonts_as_declared() -> None:
    tall, wide, _ = read_good(RICH).fonts
    assert [glyph.name for glyph in tall.glyphs] == ['"', "rest"]
    assert (tall.align, tall.seat, tall.baseline_row) == (Align.LEFT, Seat.BASELINE, 1)
    assert wide.file is not None
    assert wide.file.path == pathlib.Path("fonts/wide.bdf")
    assert (wide.file.ink, wide.file.paper) == ("slate", "chalk")
    assert (wide.align, wide.seat) == (Align.RIGHT, Seat.TOP)


def test_programmes_find_their_grids_and_fonts() -> None:
    tick, tock = read_good(RICH).programmes
    shows = [(show.text, show.grid, show.font) for show in tick.shows]
    assert shows == [('""', "left", "tall"), ("01", "right", "wide")]
    assert (tick.every_us, tick.repeat) == (120_000_000, True)
    assert [(show.grid, show.font) for show in tock.shows] == [("right", "wide")]
    assert (tock.every_us, tock.repeat) == (1_500_000, False)


def test_order_of_statements_is_free() -> None:
    statements = [line for line in BOARD.split("\n") if line]
    forwards = read_good("\n".join(statements)).machine
    backwards = read_good("\n".join(reversed(statements))).machine
    assert {a.name for a in forwards.actuators} == {a.name for a in backwards.actuators}
    assert forwards.lanes[0].metering.name == backwards.lanes[0].metering.name == "drop"


def test_statements_need_no_lines_of_their_own() -> None:
    together = " ".join(line for line in BOARD.split("\n"))
    apart = together.replace(" { ", "\n{\n").replace(" }", "\n}")
    machines = [read_good(text).machine for text in (BOARD, together, apart)]
    assert len({str(machine) for machine in machines}) == 1


def test_lines_may_end_as_they_do_elsewhere() -> None:
    assert str(read_good(BOARD.replace("\n", "\r\n")).machine) == str(read_good(BOARD).machine)


def test_settings_that_may_be_left_out() -> None:
    machine = read_good(f"{BOARD}tolerance 0 %\n").machine
    coil, gate = machine.selectors[0].coil, machine.gates[0]
    assert coil == Coil("small", 12_000, 8_000, 40_000, 80_000, 18_000, place=coil.place)
    assert (gate.refill_us, gate.settle_us) == (0, 0)
    bus, supply = machine.buses[0], machine.supplies[0]
    assert bus == Bus("bus", 10, place=bus.place)
    assert supply == Supply("bench", 12_000, 8_000_000, place=supply.place)
    item = machine.items[0]
    assert item == Item("slate", "dark", place=item.place)


def test_item_may_feed_a_lane_without_a_selector() -> None:
    text = BOARD.replace("pick(slate, chalk)", "slate").replace("pick, drop", "drop")
    plain = "\n".join(line for line in text.split("\n") if line[:8] not in ("selector", "item cha"))
    machine = read_good(plain.replace('mark "." chalk', "")).machine
    assert machine.selectors == ()
    assert [actuator.name for actuator in machine.actuators] == ["drop.c1", "drop.c2", "swap"]


def test_part_of_several_grids_has_actuators_in_each() -> None:
    text = BOARD.replace(
        "grid g {", "grid h { columns 1 rows 1 }\nlane h = shown <- swap <- drop <- slate\ngrid g {"
    ).replace("bits 10", "bits 14")
    machine = read_good(text.replace('show "0"', 'show "0" on g')).machine
    assert [actuator.name for actuator in machine.actuators] == [
        "pick.r1",
        "pick.r2",
        "h.drop.c1",
        "g.drop.c1",
        "g.drop.c2",
        "h.swap",
        "g.swap",
    ]


def test_places_lead_back_to_the_text() -> None:
    machine = read_good(BERTH).machine
    lines = BERTH.split("\n")
    named = [(gate.name, gate.place) for gate in machine.gates]
    named += [(item.name, item.place) for item in machine.items]
    named += [(bus.name, bus.place) for bus in machine.buses]
    for name, place in named:
        start = place.column - 1
        assert lines[place.line - 1][start : start + place.length] == name


@pytest.mark.parametrize("between", ["\n", " ", "\n\n  "])
def test_the_next_statement_may_stand_behind_the_cells_of_a_lane(between: str) -> None:
    text = BOARD.replace(f"{LANE}\n", f"{own_lane('{ |#.| |..| }')}{between}")
    findings = Findings()
    declared = read_text(text, "board.lanes", findings)
    assert declared is not None, [str(finding) for finding in findings]
    (lane,) = declared.machine.lanes
    assert [isinstance(feed, Item) for feed in lane.feeds] == [True, False, False, False]
