"""The tour of the README: each stage checks as it says, and its end builds."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from seqc.cli.main import main
from seqc.language.formatting import formatted
from seqc.machine.findings import Findings

README = (Path(__file__).parent.parent / "README.md").read_text("utf-8")
STAGES = re.findall("```lanes\n(.*?)```", README, re.S)
SAMPLE = re.findall(r"```\n\$ seqc check tide_gauge.lanes\n(.*?)```", README, re.S)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "tide_gauge.lanes"


def test_the_first_stage_is_checked_as_the_readme_shows(path: Path) -> None:
    path.write_text(STAGES[0], "utf-8")
    result = CliRunner().invoke(main, ["check", str(path)])
    assert result.exit_code == 0
    assert [result.stdout] == SAMPLE


def test_with_the_electrics_only_times_are_untold(path: Path) -> None:
    path.write_text("\n".join(STAGES[:2]), "utf-8")
    result = CliRunner().invoke(main, ["check", str(path)])
    assert result.exit_code == 0
    assert result.stderr == ""
    assert "pulses in all frames" in result.stdout
    assert "pulses and electrics, without" not in result.stdout
    assert "times, without" in result.stdout


def test_the_whole_keeps_its_cadence_and_is_built(path: Path, tmp_path: Path) -> None:
    text = "\n".join(STAGES)
    assert formatted(text, "x", Findings()) == text
    path.write_text(text, "utf-8")
    result = CliRunner().invoke(main, ["check", str(path)])
    assert result.exit_code == 0, result.stderr
    assert "not whole yet" not in result.stdout
    out = tmp_path / "out"
    built = CliRunner().invoke(main, ["build", str(path), "--out", str(out), "--target", "c99"])
    assert built.exit_code == 0, built.output
    assert list(out.rglob("*.h"))
