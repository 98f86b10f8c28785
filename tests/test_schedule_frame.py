"""Small frames timed by hand.

The parts of tests/boards.py: a small coil is pulsed 40 ms, travels 18 ms, recovers 60 ms; selectors
settle 10 ms more, so one is settled 28 ms after its pulse began. A large coil is pulsed 60 ms,
travels 25 ms, recovers 90 ms. Gates stay open 60 ms and refill 70 ms. Items fall 300 ms and lie
still 20 ms later. A small coil draws 1.463415 A, a large one 2.142858 A.
"""

from __future__ import annotations

import pytest
from boards import CELL, COLUMN, GRID, board, glyph, grid_of
from reference.schedule_planner import left_to_right

from seqc.machine.electrics import DriveKind
from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.schedule.frame import FrameTiming, change_alone, time_frame
from seqc.schedule.timing import transition_period
from seqc.schedule.topology import Topology


def timed(machine: Machine, shape: Glyph) -> FrameTiming:
    return time_frame(machine, left_to_right(machine, [shape]))


def starts(timing: FrameTiming) -> dict[str, int]:
    return {f"{p.actuator.name} {p.position.value}": p.start_us for p in timing.pulses}


def test_one_cell() -> None:
    machine = board([grid_of(1, 1)])
    timing = timed(machine, glyph(machine.grids[0], "1"))
    found = starts(timing)
    assert found["pick1.r1 thrown"] == 0
    assert found["drop.c1 thrown"] == 28_000
    # Open from 28 + 18 = 46 to 106, but the coil recovers until 68 + 60 = 128.
    assert found["drop.c1 rest"] == 128_000
    # Settled thrown at 46, fallen at 346, still at 366.
    assert timing.load_time_us == 366_000
    # The load is quiet when the gate has refilled: 128 + 18 + 70 = 216; and the coil has recovered:
    # 168 + 60 = 228; so the change starts with the last item.
    assert timing.change_at_us == found["swap thrown"] == 366_000
    # Thrown at 0, settled at 25, still at 25 + 320.
    assert timing.change_us == 345_000
    # The coil recovers until 60 + 90 = 150; it returns from 150 to 210 and recovers until 300;
    # items lie still at 345.
    assert found["swap rest"] == 366_000 + 150_000
    assert timing.quiet_us == 366_000 + 345_000
    assert timing.proven


def test_two_at_a_time() -> None:
    # 4 A less a fifth is 3.333 A: two small coils at once. Five selectors then start at 0, 0, 40,
    # 40 and 80 ms; the last is settled at 108, and the gate falls in: 108 + 18 + 320.
    machine = board([grid_of(5, 1)], limit_ua=4_000_000)
    timing = timed(machine, glyph(machine.grids[0], "1", "1", "1", "1", "1"))
    selectors = sorted(p.start_us for p in timing.pulses if not p.actuator.is_gate)
    assert selectors == [0, 0, 40_000, 40_000, 80_000]
    assert timing.load_time_us == 446_000
    assert timing.proven


def test_a_running_selector_keeps_the_gate_waiting() -> None:
    # Four selectors at 0, 0, 40, 40 are settled at 68, but draw until 80.
    machine = board([grid_of(4, 1)], limit_ua=4_000_000)
    timing = timed(machine, glyph(machine.grids[0], "1", "1", "1", "1"))
    assert starts(timing)["drop.c1 thrown"] == 80_000
    assert timing.load_time_us == 80_000 + 18_000 + 320_000
    assert timing.proven


def test_a_second_pass_waits_for_the_gate_at_rest() -> None:
    # Pass 1 throws its gate at 28 and returns it at 128, settled at 146. Pass 2 sets the selector
    # from 146 on, settled at 174; its item is still at 174 + 18 + 320.
    machine = board([grid_of(1, 2)])
    timing = timed(machine, glyph(machine.grids[0], "10"))
    found = starts(timing)
    assert found["pick1.r1 rest"] == 146_000
    assert found["drop.c2 thrown"] == 174_000
    assert timing.load_time_us == 512_000


def test_a_selector_of_another_lane_moves_while_a_gate_is_open() -> None:
    # With a selector for each cell the second column waits for nothing of the first.
    machine = board([grid_of(1, 2)], selectors=(CELL,))
    timing = timed(machine, glyph(machine.grids[0], "11"))
    assert timing.load_time_us == 366_000


def test_items_arrive_only_on_a_gate_at_rest() -> None:
    # An item falls 5 ms. The gate below returns at 150 and is settled at 175; so the next item may
    # leave at 170 and its gate be thrown at 152. It lies still at 195, but the large coil recovers
    # until 210 + 90.
    machine = board([grid_of(1, 1)], fall_us=5_000)
    shapes = [glyph(machine.grids[0], sign, name=sign) for sign in "01"]
    plans = [left_to_right(machine, [shape]) for shape in shapes]
    tick = transition_period(machine, plans[0], plans[1])
    thrown = next(p for p in tick.pulses if p.actuator.name == "drop.c1")
    assert thrown.start_us == 152_000
    assert tick.period_us == 300_000
    assert tick.links[-1].cause == "swap minimum off"
    assert tick.proven


def test_the_period_may_be_the_fall_into_sight() -> None:
    # The load of one cell takes 366 ms from the start of the change; the old frame is still at 345.
    machine = board([grid_of(1, 1)])
    plan = left_to_right(machine, [glyph(machine.grids[0], "1")])
    tick = transition_period(machine, plan, plan)
    assert tick.period_us == 366_000
    assert [link.cause for link in tick.links][-2:] == ["transit drop to swap", "load complete"]
    assert sum(link.length_us for link in tick.links) == tick.period_us


def test_the_old_set_goes_before_the_new_arrives() -> None:
    # dump: thrown 0, back 150, settled 175. swap falls 100 ms after it has settled at 25: the item
    # of a throw at 0 would arrive at 125; so it is thrown at 50 and lies still at 50 + 25 + 120.
    gates = {"drop": COLUMN, "swap": GRID, "dump": GRID}
    machine = board([grid_of(1, 1)], gates=gates, dumps=1, fall_us=100_000)
    plan = left_to_right(machine, [glyph(machine.grids[0], "1")])
    change = change_alone(Topology(machine), plan)
    assert next(p.start_us for p in change.pulses if p.actuator.name == "swap") == 50_000
    assert change.reached_us == 195_000
    assert change.proven


def test_two_transfer_gates_work_from_the_top_down() -> None:
    # The item lies still above the first at 366; that one is thrown then, and the item lies still
    # above the second at 366 + 25 + 320.
    machine = board([grid_of(1, 1)], gates={"drop": COLUMN, "hold": GRID, "swap": GRID})
    timing = timed(machine, glyph(machine.grids[0], "1"))
    assert starts(timing)["hold thrown"] == 366_000
    assert timing.load_time_us == 711_000
    assert timing.change_us == 345_000


def test_without_a_transfer_gate_the_passes_are_the_change() -> None:
    machine = board([grid_of(1, 1)], gates={"drop": COLUMN})
    timing = timed(machine, glyph(machine.grids[0], "1"))
    assert timing.load_time_us == 0
    assert timing.change_us == 366_000


def test_two_grids_share_the_supply() -> None:
    # Two small coils at once: the four selectors of two grids of two rows start at 0, 0, 40, 40.
    grids = [grid_of(2, 1, name="hours"), grid_of(2, 1, name="minutes")]
    machine = board(grids, limit_ua=4_000_000)
    shapes = [glyph(grid, "1", "1") for grid in grids]
    timing = time_frame(machine, left_to_right(machine, shapes))
    selectors = sorted(p.start_us for p in timing.pulses if not p.actuator.is_gate)
    assert selectors == [0, 0, 40_000, 40_000]
    # The grid whose selectors went first is thrown at 40, when there is room beside one selector;
    # no: both selectors of the other run from 40 to 80, so both gates are thrown at 80.
    assert timing.load_time_us == 80_000 + 18_000 + 320_000
    assert timing.proven


def test_opposite_pulses_share_a_reverser_one_after_the_other() -> None:
    # Two rows, one to be thrown and one to be put to rest. The decay of 9 mH over 8.2 ohm takes
    # 5.488 ms, a guard 1 ms, the reverser 6 ms to release or 10 ms to operate, a guard 1 ms.
    machine = board([grid_of(2, 1)], kind=DriveKind.SHARED_REVERSER)
    first = left_to_right(machine, [glyph(machine.grids[0], "1", "0")])
    second = left_to_right(machine, [glyph(machine.grids[0], "0", "1")], first.grids[0].end)
    timing = time_frame(machine, second)
    by_start = sorted((p.start_us, p.position.value) for p in timing.pulses)[:2]
    # Either order may come first; the gate's throw is forward, so forward comes last.
    assert by_start == [(0, "rest"), (40_000 + 5_488 + 1_000 + 6_000 + 1_000, "thrown")]
    assert timing.load_time_us == 53_488 + 28_000 + 18_000 + 320_000
    assert timing.proven


def test_pulses_under_one_switch_coincide_or_wait_for_the_contacts() -> None:
    # Three rows, two at a time: the third starts when the contacts of the first two have opened and
    # its own have closed, 10 ms, and a guard of 1 ms: at 51. It draws until 91; the gate's contacts
    # take until 102.
    machine = board([grid_of(3, 1)], limit_ua=4_000_000, pulse_switch=True)
    timing = timed(machine, glyph(machine.grids[0], "1", "1", "1"))
    selectors = sorted(p.start_us for p in timing.pulses if not p.actuator.is_gate)
    assert selectors == [0, 0, 51_000]
    assert starts(timing)["drop.c1 thrown"] == 102_000
    assert timing.proven


def test_pulses_that_need_not_wait_join_those_that_may_start() -> None:
    # The first row's gate needs no selector: it coincides with the other row's selector, or with
    # its gate, and isn't put in between. The selector's contacts are open at 51.
    machine = board([grid_of(2, 1)], gates={"drop": CELL, "swap": GRID}, pulse_switch=True)
    timing = timed(machine, glyph(machine.grids[0], "0", "1"))
    found = starts(timing)
    assert found["drop.r1c1 thrown"] in (0, 51_000)
    assert timing.load_time_us == 51_000 + 18_000 + 320_000


def test_a_bridge_needs_no_lead() -> None:
    plain = board([grid_of(1, 1)], kind=DriveKind.BRIDGE)
    assert timed(plain, glyph(plain.grids[0], "1")).load_time_us == 366_000


@pytest.mark.parametrize("rows", range(1, 8))
def test_a_larger_supply_never_gives_a_longer_proven_load(rows: int) -> None:
    found = []
    for limit_ua in (3_000_000, 4_000_000, 6_000_000, 9_000_000):
        machine = board([grid_of(rows, 2)], limit_ua=limit_ua)
        timing = timed(machine, glyph(machine.grids[0], *["10"] * rows))
        assert timing.proven
        found.append(timing.load_time_us)
    assert found == sorted(found, reverse=True)
