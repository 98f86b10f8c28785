"""Long work says on a terminal how far it is, and Ctrl-C ends it at once."""

from __future__ import annotations

import io
import os
import pty
import select
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest

from seqc.cli import common
from seqc.machine.progress import counted

PATIENCE_S = 120
CTRL_C = b"\x03"


class Terminal(io.StringIO):
    """A screen that keeps what is written on it."""

    def isatty(self) -> bool:
        return True


def test_long_work_says_what_it_does_and_how_far_it_is(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(common, "PATIENCE_S", 0.0)
    monkeypatch.setattr(common, "LOOK_S", 0.01)
    monkeypatch.setattr(sys, "stderr", screen := Terminal())
    with common.progress("building board"):
        for _ in counted("planning frames", range(1234)):
            until = time.monotonic() + PATIENCE_S
            while "planning frames: 0 of 1,234" not in screen.getvalue():
                assert time.monotonic() < until
                time.sleep(0.01)
            break
    assert "building board, planning frames: 0 of 1,234" in screen.getvalue()


def board(size: int, kinds: int, glyphs: int) -> str:
    """A machine file with glyphs drawn at random, which takes long to plan."""
    random = Random(size)
    items = {"#": "slate", ".": "chalk", "o": "amber", "~": "moss"}
    marks = dict(list(items.items())[:kinds])
    feed = "side(slate, chalk)" if kinds == 2 else "side(shade(slate, chalk), tint(amber, moss))"
    selectors = ["side"] if kinds == 2 else ["side", "shade", "tint"]
    rows = ["".join(random.choices("".join(marks), k=size)) for _ in range(size * glyphs)]
    drawn = [
        f'glyph "{number}" {{ {" ".join(f"|{row}|" for row in rows[number::glyphs])} }}'
        for number in range(glyphs)
    ]
    return "\n".join(
        [
            "machine big",
            *(f"item {item} {{ tone {item} }}" for item in marks.values()),
            f"grid g {{ columns {size} rows {size} }}",
            f"lane g = shown <- swap <- drop <- {feed}",
            *(f"selector {name} {{ per row coil small settle 8 ms }}" for name in selectors),
            "gate drop { per column coil small open 45 ms }",
            "gate swap { whole grid coil small open 70 ms }",
            "path drop -> swap { falls in 300 ms }",
            "path swap -> shown { falls in 200 ms }",
            "coil small { 12 V 15 ohm pulse 30 ms travel 16 ms }",
            "outputs bus { bits 512 }",
            f"drive {', '.join(selectors)}, drop, swap {{ bridge dead time 1 ms from bus }}",
            "supply bench { 12 V limit 40 A }",
            "font f for g {",
            *(f'mark "{mark}" {item}' for mark, item in marks.items()),
            *drawn,
            "}",
            'programme p { show "{0}{1}{2}{3}" every 20 s repeat }',
        ]
    )


def children(process: int) -> list[int]:
    listed = Path(f"/proc/{process}/task/{process}/children").read_text()
    return [int(child) for child in listed.split()]


def stopped(words: list[str], ready: Callable[[int], bool]) -> tuple[int, bytes]:
    """The exit status of a command that gets Ctrl-C on its terminal once it is ready."""
    process, screen = pty.fork()
    if not process:
        signal.signal(signal.SIGINT, signal.SIG_DFL)  # a shell's background ignores it
        code = "from seqc.cli.entry import main; main()"
        os.execv(sys.executable, [sys.executable, "-c", code, *words])
    printed, sent, until = b"", False, time.monotonic() + PATIENCE_S
    while True:
        assert time.monotonic() < until, printed
        if select.select([screen], [], [], 0.05)[0]:
            try:
                more = os.read(screen, 65536)
            except OSError:
                break
            if not more:
                break
            printed += more
        if not sent and ready(process):
            sent = bool(os.write(screen, CTRL_C))
    return os.waitstatus_to_exitcode(os.waitpid(process, 0)[1]), printed


@pytest.mark.skipif(not os.path.exists("/proc/self/task"), reason="needs /proc")
@pytest.mark.parametrize("prefer", ["load time", "pulses"])
def test_ctrl_c_ends_the_planning_of_a_font_and_all_its_workers(
    prefer: str, tmp_path: Path
) -> None:
    path = tmp_path / "big.lanes"
    path.write_text(board(16, 2, 300), "utf-8")
    workers: list[int] = []

    def ready(process: int) -> bool:
        workers[:] = children(process)
        return bool(workers)

    words = ["plan", str(path), "--whole-font", "f", "--prefer", prefer]
    status, printed = stopped(words, ready)
    assert status == 130
    assert printed.endswith(b"stopped\r\n")
    assert b"Traceback" not in printed
    assert not any(os.path.exists(f"/proc/{worker}") for worker in workers)


@pytest.mark.thorough
@pytest.mark.parametrize("seconds", [2.0, 4.0])
def test_ctrl_c_ends_a_search_within_its_loops(seconds: float, tmp_path: Path) -> None:
    path = tmp_path / "big.lanes"
    path.write_text(board(24, 4, 4), "utf-8")
    begun = time.monotonic()
    status, printed = stopped(["check", str(path)], lambda _: time.monotonic() > begun + seconds)
    assert (status, printed.endswith(b"stopped\r\n")) == (130, True)
    assert b"Traceback" not in printed
