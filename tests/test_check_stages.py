"""A machine that isn't whole yet is checked as far as it goes."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from colon_clock import TEXT
from examples_on_disk import machine_file
from malformed import BOARD

from seqc.cli.main import main

STAGE_1 = """\
machine board
item slate { tone dark }
item chalk { tone light }
grid g { columns 2 rows 2 }
lane g = shown <- swap <- drop <- pick(slate, chalk)
selector pick { per row }
gate drop { per column }
gate swap { whole grid }
font f for g { mark "#" slate mark "." chalk glyph "0" { |#.| |.#| } }
"""


def run(path: Path, text: str, *words: str, command: str = "check") -> Result:
    path.write_text(text, "utf-8")
    result = CliRunner().invoke(main, [command, str(path), *words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "board.lanes"


def test_grid_lanes_linkages_and_font_tell_reach_passes_actuators_and_outputs(path: Path) -> None:
    result = run(path, STAGE_1)
    assert result.exit_code == 0
    assert result.stderr == ""
    assert result.stdout == (
        "board: not whole yet; 1 of 1 glyphs can be shown\n"
        "  grid g        2 columns by 2 rows: shown <- swap <- drop <- pick(slate, chalk)\n"
        "  actuators     5: pick 2, drop 2, swap 1\n"
        "  outputs       10 with a pair of relays each (10 relays) or with bridges; 6\n"
        "                with a shared reverser (6 relays)\n"
        "  passes        2 at most\n"
        "Can't be told yet\n"
        "  pulses and electrics, without\n"
        "    coil of pick, drop, swap\n"
        "    drive of pick, drop, swap\n"
        "  times, without\n"
        "    path swap -> shown, drop -> swap\n"
        "    open of drop, swap\n"
    )


def test_a_glyph_out_of_reach_is_told_at_once(path: Path) -> None:
    result = run(path, STAGE_1.replace("per column", "whole grid"))
    assert result.exit_code == 1
    assert "glyph '0' is out of reach" in result.stderr
    assert "0 of 1 glyphs can be shown" in result.stdout
    assert "passes  " not in result.stdout


def without(*keywords: str) -> str:
    """The board of the malformed samples without some statements."""
    lines = BOARD.split("\n")
    return "\n".join(line for line in lines if line.split(" ")[0] not in keywords)


@pytest.mark.parametrize(
    "keywords, stage, lacking",
    [
        (("path",), "times", ["path swap -> shown", "path drop -> swap"]),
        (("coil",), "pulses and electrics", ["coil small"]),
        (("relay",), "pulses and electrics", ["relay card"]),
        (("outputs",), "pulses and electrics", ["outputs bus"]),
        (("supply",), "pulses and electrics", ["supply of pick, drop, swap"]),
        (
            ("drive", "relay", "outputs", "supply"),
            "pulses and electrics",
            ["drive of pick", "drive of drop", "drive of swap"],
        ),
    ],
)
def test_each_missing_statement_is_told_and_no_error(
    keywords: tuple[str, ...], stage: str, lacking: list[str], path: Path
) -> None:
    result = run(path, without(*keywords), "--json")
    assert result.exit_code == 0
    document = json.loads(result.stdout)
    found = [(one["untold"], one["lacking"]) for one in document["lacks"]]
    assert sorted(found) == sorted((stage, what) for what in lacking)
    assert "not whole yet" in run(path, without(*keywords)).stdout


def test_with_coils_and_drives_the_pulses_are_told_too(path: Path) -> None:
    result = run(path, without("path"))
    assert re.search(r"passes +2 at most; \d+ pulses in all frames together", result.stdout)
    assert "outputs  " not in result.stdout
    assert "takes its tolerance" in result.stderr or "tolerance" in result.stderr


@pytest.mark.parametrize("command", ["build", "plan", "simulate", "forecast"])
def test_all_else_needs_the_whole_machine(command: str, path: Path, tmp_path: Path) -> None:
    words = ["--out", str(tmp_path / "out")] if command == "build" else []
    result = run(path, without("path"), *words, command=command)
    assert result.exit_code == 2
    assert "there is no path from `drop` to `swap`" in result.stderr


def test_any_other_mistake_is_an_error_as_ever(path: Path) -> None:
    for old, new in (("tone dark", "tne dark"), ("per row", "per rwo"), ("swap <- drop", "swp")):
        result = run(path, STAGE_1.replace(old, new, 1))
        assert result.exit_code == 2
        assert "not whole yet" not in result.stdout


def test_a_misspelt_name_among_declared_ones_is_no_stage(path: Path) -> None:
    result = run(path, BOARD.replace("per row coil small", "per row coil smal"))
    assert result.exit_code == 2
    assert "did you mean `small`?" in result.stderr


@pytest.mark.parametrize("command", ["check", "plan", "simulate", "forecast"])
def test_a_call_may_allow_a_folder_to_include_from(command: str, tmp_path: Path) -> None:
    shared = tmp_path / "shared"
    shared.mkdir()
    coil = next(line for line in BOARD.split("\n") if line.startswith("coil"))
    (shared / "coils.lanes").write_text(coil, "utf-8")
    text = BOARD.replace(coil, 'include "coils.lanes"')
    (tmp_path / "home").mkdir()
    path = tmp_path / "home" / "board.lanes"
    assert run(path, text, command=command).exit_code == 2
    assert run(path, text, "--include", str(shared), command=command).exit_code != 2
    assert run(path, text, "--include", str(tmp_path / "none"), command=command).exit_code == 2


@pytest.mark.thorough
def test_copies_that_say_the_same_share_a_row(tmp_path: Path) -> None:
    file = machine_file("harbour_clock", tmp_path)
    lines = CliRunner().invoke(main, ["check", str(file)]).stdout.splitlines()
    assert [line for line in lines if line.startswith("  quay_")] == [
        "  quay_1-6        10 of 10 glyphs can be shown"
    ]
    assert sum(line.startswith("  numeral_") for line in lines) == 1


@pytest.mark.thorough
def test_a_clock_with_a_colon_of_six_parts_is_checked_without_its_electrics(tmp_path: Path) -> None:
    kept = [
        line.split(" coil small")[0] + (" }" if " coil small" in line else "")
        for line in TEXT.splitlines()
        if not line.startswith(("coil", "supply", "path", "drive", "outputs", "tolerance"))
    ]
    path = tmp_path / "quay.lanes"
    path.write_text("\n".join(kept), "utf-8")
    result = CliRunner().invoke(main, ["check", str(path)])
    assert result.exit_code == 0, result.output
    assert "drive of pick, drop, swap, choose, feed, blink" in " ".join(result.output.split())
