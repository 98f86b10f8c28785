"""`simulate --samples`: machines drawn within the tolerances of their parts."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from examples_on_disk import machine_file

from seqc.cli.main import main


def run(*words: object) -> Result:
    """One call of the command, with no error of ours passed over."""
    result = CliRunner().invoke(main, [str(word) for word in words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


@pytest.fixture
def exact(tmp_path: Path) -> Path:
    """The berth board with exact parts."""
    path = machine_file("berth_board", tmp_path)
    text = path.read_text("utf-8").replace("tolerance 5 %", "tolerance 0 %")
    path.write_text(text.replace("16 MHz +- 0.5 %", "16 MHz"), "utf-8")
    return path


def test_exact_parts_hold_for_every_draw(exact: Path) -> None:
    result = run("simulate", exact, "--samples", 3, "--show", "47")
    assert result.exit_code == 0, result.output
    assert result.output.startswith("berth_board: holds for every draw of parts")
    assert "0 of 3 machines" in result.output


def test_tables_for_exact_parts_are_broken_by_others(exact: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert run("build", exact, "--target", "json", "--out", out, "--show", "47").exit_code == 0
    exact.write_text(exact.read_text("utf-8").replace("tolerance 0 %", "tolerance 5 %"), "utf-8")
    words = ("simulate", exact, "--tables", out / "json", "--samples", 3)
    result = run(*words)
    assert result.exit_code == 1
    assert "3 of 3 machines with a fault (seed 0)" in result.output
    assert "What breaks first, drawn once a piece" in result.output
    document = json.loads(run(*words, "--seed", 7, "--json").output)
    assert document["seed"] == 7
    assert document["once_a_piece"]["with_a_fault"] == 3
    assert sum(each["first_in"] for each in document["once_a_piece"]["weaknesses"]) == 3
    assert document["within_bounds"]


def test_options_without_effect_are_refused(exact: Path) -> None:
    assert run("simulate", exact, "--seed", 3).exit_code == 2
    assert run("simulate", exact, "--samples", 3, "--stock").exit_code == 2
    assert run("simulate", exact, "--samples", 0).exit_code == 2
