"""Cautions stand where one acts: in firmware, and beside what commands say of a machine."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from examples_on_disk import machine_file

from seqc.cli.main import main
from seqc.machine.cautions import IN_SHORT

FIRMWARE = {".c", ".h", ".ino", ".py"}
TARGETS = ("c99", "avr", "avr_i2c", "arduino", "arduino_i2c", "micropython")


def run(*words: object) -> Result:
    """One call of the command, with no error of ours passed over."""
    result = CliRunner().invoke(main, [str(word) for word in words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def test_commands_end_with_the_caution(tmp_path: Path) -> None:
    berth = machine_file("berth_board", tmp_path)
    for words in (
        ("check", berth),
        ("build", berth, "--out", tmp_path / "out", "--show", "4"),
        ("demo", tmp_path / "demo"),
    ):
        assert " ".join(run(*words).output.split()).endswith(IN_SHORT)


@pytest.mark.parametrize("target", TARGETS)
def test_every_file_of_firmware_begins_with_it(target: str, tmp_path: Path) -> None:
    berth = machine_file("berth_board", tmp_path)
    out = tmp_path / "out"
    result = run("build", berth, "--target", target, "--out", out, "--show", "4")
    assert result.exit_code == 0, result.output
    files = [path for path in out.rglob("*") if path.suffix in FIRMWARE or path.name == "Makefile"]
    assert files
    for path in files:
        head = " ".join(path.read_text("utf-8").splitlines()[:14])
        words = [word for word in head.split() if word not in ("#", "/*", "*", "*/")]
        assert IN_SHORT in " ".join(words), path.name


def test_it_names_what_hurts() -> None:
    for word in ("supply", "burns", "pinch", "Local codes", "licensed practice"):
        assert word in IN_SHORT
