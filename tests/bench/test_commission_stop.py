"""How soon every output is inactive after the stop key: 50 ms are allowed.

Run with `pytest tests/bench/test_commission_stop.py`. A session drives an ATmega328P in simavr,
behind a pseudo-terminal, in real time; from the call of the key to the edge on the outputs.
"""

from __future__ import annotations

import statistics
import time
from pathlib import Path

from commissioned import Bench, made, until
from firmware.emulated import TOOLS, build_emulator, controller
from firmware.host import needs, target
from firmware.wired import Wired

from bench.conftest import Record
from bench.figures import table
from seqc.commission.ports import SerialPort

STOPS = 20
ALLOWED_S = 0.050

pytestmark = needs(*TOOLS)


def test_a_stop_is_obeyed_within_50_ms(tmp_path: Path, record: Record) -> None:
    built = controller(
        build_emulator(tmp_path), tmp_path / "avr", target("avr"), made().machine, made().table_set
    )
    wired = Wired(built, tmp_path)
    bench = Bench(tmp_path / "record.jsonl", lambda: SerialPort(str(wired.device)))
    taken = []
    for _ in range(STOPS):
        bench.do("home", "status")
        bench.obey("play count every 1000 ms")
        until(lambda: wired.word != wired.idle)
        pressed = time.monotonic()
        bench.session.stop()
        until(lambda: wired.word == wired.idle)
        taken.append(
            next(at for at, word in wired.edges if at > pressed and word == wired.idle) - pressed
        )
        bench.until("stopped")
    bench.session.close()
    wired.close()
    middle, worst = statistics.median(taken) * 1000, max(taken) * 1000
    row = (STOPS, f"{middle:.1f} ms", f"{worst:.1f} ms", f"{1000 * ALLOWED_S:.0f} ms")
    record(
        "How soon a stop is obeyed",
        "From the key to inactive outputs of an ATmega328P in simavr, behind a pseudo-terminal."
        f"\n\n{table(('stops', 'median', 'most', 'allowed'), [row])}",
    )
    assert max(taken) < ALLOWED_S
