"""Tones are painted where a terminal has colours, and told by their signs in any case."""

from __future__ import annotations

import os
import pty
import re
import subprocess
import sys
from pathlib import Path

import pytest
from clock_file import CLOCK, changed

from seqc.report.pictures import beside
from seqc.report.tones import PAINT, PAINTS, width

CODE = "from seqc.cli.main import main; main()"


def on_a_terminal(words: list[str], **environment: str) -> str:
    """What a command prints on a terminal of 80 columns."""
    ours, theirs = pty.openpty()
    known = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "COLORTERM")}
    with subprocess.Popen(
        [sys.executable, "-c", CODE, *words],
        stdin=theirs,
        stdout=theirs,
        stderr=subprocess.DEVNULL,
        env={**known, "COLUMNS": "80", **environment},
    ) as process:
        os.close(theirs)
        printed = b""
        while True:
            try:
                piece = os.read(ours, 65536)
            except OSError:
                break
            if not piece:
                break
            printed += piece
        process.wait()
    os.close(ours)
    return printed.decode().replace("\r\n", "\n")


@pytest.fixture
def words(tmp_path: Path) -> list[str]:
    path = tmp_path / "quay.lanes"
    path.write_text(changed(CLOCK, "").replace(" copies 4", ""), "utf-8")
    return ["plan", str(path), "--show", "01"]


def in_a_pipe(words: list[str]) -> str:
    done = subprocess.run(
        [sys.executable, "-c", CODE, *words], capture_output=True, text=True, check=False
    )
    return done.stdout


def test_a_terminal_with_colours_gets_tones_and_the_same_signs(words: list[str]) -> None:
    shown = on_a_terminal(words, TERM="xterm-256color")
    plain = in_a_pipe(words)
    assert len(set(PAINT.findall(shown))) >= 3
    assert PAINT.sub("", shown) == plain
    dark = re.search(r"(\x1b\[[0-9;]*m)#", shown)
    light = re.search(r"(\x1b\[[0-9;]*m)\.", shown)
    assert dark
    assert light
    assert dark[1] != light[1]


@pytest.mark.quick(1)
@pytest.mark.parametrize("environment", [{"TERM": "dumb"}, {"TERM": "xterm", "NO_COLOR": "1"}])
def test_one_without_colours_gets_the_signs_alone(
    environment: dict[str, str], words: list[str]
) -> None:
    assert on_a_terminal(words, **environment) == in_a_pipe(words)


def test_paint_takes_no_width() -> None:
    assert width("\x1b[97;48;5;236m#\x1b[0m .") == 3
    assert beside([["\x1b[1m#\x1b[0m", "##"], ["a", "b"]]) == ["\x1b[1m#\x1b[0m    a", "##   b"]


def test_every_paint_is_known_to_rich() -> None:
    from rich.style import Style

    for paint in PAINTS.values():
        style = Style.parse(paint)
        assert style.color
        assert style.bgcolor
