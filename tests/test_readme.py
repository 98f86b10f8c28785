"""README shows what the program prints."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner
from examples_on_disk import machine_file

from seqc.cli.main import main

README = Path(__file__).parent.parent / "README.md"
LEFT_OUT = "..."
SAMPLES = re.findall(
    r"```\n\$ seqc ((?:check|plan|forecast) berth/.*)\n((?:.*\n)*?)```", README.read_text("utf-8")
)


@pytest.mark.parametrize(("call", "shown"), SAMPLES, ids=[call for call, _ in SAMPLES])
def test_a_sample_is_what_is_printed(
    call: str, shown: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "berth").mkdir()
    machine_file("berth_board", tmp_path / "berth")
    monkeypatch.chdir(tmp_path)
    printed = CliRunner().invoke(main, call.split()).stdout
    lines = shown.rstrip("\n").split("\n")
    if lines[-1].strip() == LEFT_OUT:
        assert printed.split("\n")[: len(lines) - 1] == lines[:-1]
    else:
        assert printed.rstrip("\n").split("\n") == lines


def test_there_are_samples() -> None:
    assert {call.split()[0] for call, _ in SAMPLES} == {"check", "plan", "forecast"}


def test_how_much_parts_may_vary_is_what_check_prints(tmp_path: Path) -> None:
    machine_file("berth_board", tmp_path)
    printed = CliRunner().invoke(main, ["check", str(tmp_path / "berth_board.lanes")]).stdout
    keeps = re.search(r"keeps 1 s at up to [\d.]+ times\s+the declared\s+tolerances", printed)
    assert keeps
    assert " ".join(keeps[0].split()) in README.read_text("utf-8")
