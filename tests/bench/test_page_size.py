"""How large pages are, and how long they take to be made and opened.

Run with `pytest tests/bench/test_page_size.py -p no:xdist`. A page of one file feels stuck from
some 3 MB on: that is the most that 256 glyphs of 16 by 16 cells and a day of the clock may have.
"""

from __future__ import annotations

import math
import time
from pathlib import Path
from random import Random

import pytest
from examples_on_disk import machine_of
from playwright.sync_api import Browser
from surveyed import opened, survey_of

import seqc
from bench.conftest import Record
from bench.figures import table
from seqc.machine.findings import Findings
from seqc.machine.model import Machine
from seqc.report.page.page import page

MB = 1_000_000
SIDE, GLYPHS = 16, 256

WALL = f"""machine quay_wall
tolerance 5 %
item slate {{ tone dark diameter 8 mm stock 9000 recirculate 20 s }}
item chalk {{ tone light diameter 8 mm stock 9000 recirculate 20 s }}
grid face {{ columns {SIDE} rows {SIDE} }}
lane face = shown <- swap <- drop <- pick(slate, chalk)
selector pick {{ per row coil small settle 8 ms }}
gate drop {{ per column coil small open 45 ms refill 60 ms }}
gate swap {{ whole grid coil large open 70 ms }}
path drop -> swap {{ roll 60 mm at 12 deg }}
path swap -> shown {{ roll 35 mm at 11 deg settle 90 ms }}
coil small {{
    12 V 15 ohm 9 mH pulse 30 ms travel 16 ms minimum off 30 ms max pulse 60 ms life 2000000
}}
coil large {{
    12 V 8.2 ohm 14 mH pulse 40 ms travel 24 ms minimum off 40 ms max pulse 80 ms life 999000
}}
outputs bus {{ bits 128 shift register active low }}
drive pick, drop, swap {{ bridge dead time 1 ms from bus }}
supply bench {{ 12 V limit 20 A margin 20 % }}
"""


def wall(folder: Path) -> Machine:
    """A large board whose glyphs are large areas bounded by waves."""

    def glyph(number: int) -> str:
        random = Random(f"wall {number}")
        waves = [
            (random.uniform(0.2, 1.1), random.uniform(0.2, 1.1), random.random()) for _ in "abc"
        ]
        rows = (
            "".join(
                "#" if sum(math.sin(a * r + b * c + 7 * d) for a, b, d in waves) > 0 else "."
                for c in range(SIDE)
            )
            for r in range(SIDE)
        )
        return f'glyph "g{number}" {{ {" ".join(f"|{row}|" for row in rows)} }}'

    font = 'font hand for face { mark "#" slate mark "." chalk'
    glyphs = "\n".join(glyph(number) for number in range(GLYPHS))
    show = 'programme p { show "{g0}{g1}{g2}{g3}" every 8 s repeat }'
    path = folder / "wall.lanes"
    path.write_text(f"{WALL}{font}\n{glyphs}\n}}\n{show}\n", "utf-8")
    return seqc.read(path, Findings())


@pytest.mark.parametrize(
    ("name", "most"), [("berth_board", MB), ("quay_wall", 3 * MB), ("harbour_clock", 3 * MB)]
)
def test_size_and_time(
    name: str, most: int, tmp_path: Path, browser: Browser, record: Record
) -> None:
    machine = wall(tmp_path) if name == "quay_wall" else machine_of(name, tmp_path)
    began = time.perf_counter()
    survey = survey_of(machine, machine.programmes)
    worked_out = time.perf_counter()
    html = page(survey)
    made = time.perf_counter()
    with opened(browser, html) as (shown, heard):
        opens_ms = shown.evaluate(
            "() => performance.getEntriesByType('navigation')[0].domContentLoadedEventEnd"
        )
        assert heard == []
    size = len(html.encode())
    assert size <= most
    rows = [
        (
            f"{size / MB:.2f} MB",
            f"{worked_out - began:.1f} s",
            f"{made - worked_out:.1f} s",
            f"{opens_ms / 1000:.2f} s",
        )
    ]
    record(f"Page of {name}", table(("size", "worked out", "page made", "opened"), rows))
