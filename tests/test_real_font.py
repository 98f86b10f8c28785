"""A real font of 3 by 5 ink: ten distinct numerals, each within reach of a small machine.

The font is micro of the Debian package xfonts-base, in the public domain. That 3 columns by 5 rows
are enough for ten distinct numerals, that five row selectors and three column gates address all
fifteen cells, and that a latching coil takes two relays, since its polarity must be reversed:
common practice, no source.
"""

from __future__ import annotations

import os
import pathlib

import pytest

import seqc
from seqc.machine.findings import Findings
from seqc.machine.steptable import TablesFor

MICRO = pathlib.Path("/usr/share/fonts/X11/misc/micro.pcf.gz")
MACHINE = """
machine tide_gauge
item slate {{ tone dark }}
item chalk {{ tone light }}
grid numeral {{ columns 3  rows 5 }}
lane numeral = shown <- swap <- drop <- pick(slate, chalk)
selector pick {{ per row     coil small  settle 8 ms }}
gate     drop {{ per column  coil small  open 45 ms  refill 60 ms }}
gate     swap {{ whole grid  coil small  open 70 ms }}
path drop -> swap  {{ roll 60 mm at 12 deg }}
path swap -> shown {{ falls in 90 ms }}
coil small {{ 12 V  12 ohm  9 mH  pulse 30 ms  travel 16 ms  minimum off 40 ms }}
relay card {{ operate 8 ms  release 5 ms }}
outputs bus {{ bits 18  shift register }}
drive pick, drop, swap {{ changeover pair  relay card  from bus }}
supply bench {{ 12 V  limit 6 A  margin 20 % }}
font micro for numeral from "{file}" {{ ink slate  paper chalk }}
programme count {{ show "0123456789"  every 2 s  repeat }}
"""
OUTPUTS = 2 * (5 + 3 + 1)


@pytest.mark.skipif(
    not MICRO.exists() and not os.environ.get("SEQC_NO_SKIP"), reason="not installed: xfonts-base"
)
def test_ten_distinct_numerals_of_a_real_font_are_shown(tmp_path: pathlib.Path) -> None:
    (tmp_path / "micro.pcf.gz").write_bytes(MICRO.read_bytes())
    board = tmp_path / "tide_gauge.lanes"
    board.write_text(MACHINE.format(file="micro.pcf.gz"), "utf-8")
    machine = seqc.read(board, Findings())
    assert len(machine.actuators) == 5 + 3 + 1
    assert machine.width == OUTPUTS

    programme = seqc.asked(machine)
    numerals = [glyph for frame in programme.frames for glyph in frame]
    assert len({glyph.kinds for glyph in numerals}) == 10
    assert not seqc.out_of_reach(machine, numerals)
    assert not seqc.replay(machine, seqc.tables(machine, programme, TablesFor.PROGRAMME)).faults
