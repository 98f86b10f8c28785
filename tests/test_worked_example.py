"""A machine small enough to be timed by hand, after section 4 of the rules of time.

    item       slate on offer while `pick` is at rest, chalk while it is thrown
    grid       two columns, one row: `pick` is one actuator, `drop` two, `swap` one
    every coil 12 V over 12 ohm is 1 A; its pulse 40 ms, its travel 20 ms, its recovery 30 ms
    pick       settles 10 ms after its travel
    drop       open 50 ms, refill 70 ms; its item falls 200 ms to `swap`
    swap       open 60 ms; its items fall 100 ms to the place that is seen and settle 30 ms

`a` is slate beside chalk, `b` chalk beside slate. From home `pick` is at rest, so `a` begins with
its slate; it leaves `pick` thrown, so `b` begins with its chalk and leaves `pick` at rest again.
"""

from __future__ import annotations

from pathlib import Path

import pytest

import seqc
from seqc.machine.findings import Findings
from seqc.machine.steptable import TablesFor

TEXT = """\
machine by_hand
item slate { tone dark }
item chalk { tone light }
grid g { columns 2 rows 1 }
lane g = shown <- swap <- drop <- pick(slate, chalk)
selector pick { per row     coil one settle 10 ms }
gate     drop { per column  coil one open 50 ms refill 70 ms }
gate     swap { whole grid  coil one open 60 ms }
path drop -> swap { falls in 200 ms }
path swap -> shown { falls in 100 ms settle 30 ms }
coil one { 12 V 12 ohm pulse 40 ms travel 20 ms minimum off 30 ms }
outputs bus { bits 8 }
drive pick, drop, swap { bridge dead time 1 ms from bus }
supply bench { 12 V limit LIMIT A }
tolerance 0 %
font f for g { mark "#" slate mark "." chalk glyph "a" { |#.| } glyph "b" { |.#| } }
programme p { show "ab" every 1 s repeat }
"""


def planned(folder: Path, limit: str) -> seqc.Planned:
    """The plan of the only programme, whose tables the simulator finds no fault in."""
    path = folder / "board.lanes"
    path.write_text(TEXT.replace("LIMIT", limit), "utf-8")
    findings = Findings()
    machine = seqc.read(path, findings)
    assert list(findings) == []
    programme = seqc.asked(machine)
    tables = seqc.tables(machine, programme, TablesFor.PROGRAMME)
    replay = seqc.replay(machine, tables, programme)
    assert not replay.faults
    assert not replay.unchecked
    return seqc.plan(machine, programme)


def test_times_where_the_supply_feeds_all_coils_at_once(tmp_path: Path) -> None:
    found = planned(tmp_path, "4")
    first, second = found.timing.frames
    # Two passes of two kinds: `drop` thrown and back twice, `pick` once between, `swap` twice.
    assert [plan.pulses for plan in found.plan.plans] == [2 * 2 + 1 + 2] * 2
    #   0 first drop thrown, settled at 20; back after open, 20 + 50 = 70, which is also 40 + 30
    #     after its pulse; settled at rest at 70 + 20 = 90
    #  90 pick, settled at 90 + 20 + 10 = 120
    # 120 second drop, settled at 140; its item arrives at 140 + 200
    assert first.load_time_us == second.load_time_us == 340_000
    # swap settled at 20, its items arrive at 20 + 100 and lie still 30 later.
    assert first.change_us == second.change_us == 150_000
    # swap starts at 0, goes back at 20 + 60 = 80 and is settled at rest at 100. The next load may
    # start at 0 as well: its first item arrives at 220, long after 100, its last at 340.
    assert found.timing.period_us == 340_000
    assert found.timing.proven


@pytest.mark.parametrize("limit", ["1", "1.999"])
def test_times_where_the_supply_feeds_one_coil_at_a_time(tmp_path: Path, limit: str) -> None:
    found = planned(tmp_path, limit)
    first, second = found.timing.frames
    #  70 first drop back as before, its pulse until 110; at rest at 90, when pick must wait for it
    # 110 pick, settled at 140, its pulse until 150
    # 150 second drop, settled at 170; its item arrives at 170 + 200
    assert first.load_time_us == 370_000
    assert first.change_us == second.change_us == 150_000
    #   0 swap, its pulse until 40
    #  40 first drop, settled at 60; back at 60 + 50 = 110, its pulse until 150
    # 150 pick, its pulse until 190, settled at 180
    # 190 second drop, settled at 210; its item arrives at 210 + 200
    # 230 swap back, settled at rest at 250, before the first item arrives at 60 + 200
    # 270 second drop back, after 210 + 50 and the pulse of swap
    assert found.timing.period_us == 410_000
    assert found.timing.proven


def test_margin_counts_on_top_of_the_currents(tmp_path: Path) -> None:
    # 2 A of two coils and 20 % of them are 2.4 A.
    tight = planned(tmp_path, "2.399 A margin 20 % }\n#")
    wide = planned(tmp_path, "2.4 A margin 20 % }\n#")
    assert tight.timing.period_us == 410_000
    assert wide.timing.period_us == 340_000
