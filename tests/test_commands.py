"""The commands as a user runs them: what they print, how they end, and what they leave."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from examples_on_disk import machine_file
from malformed import BOARD

from seqc.cli.main import main


@pytest.fixture
def berth(tmp_path: Path) -> Path:
    """The machine file of the berth board."""
    return machine_file("berth_board", tmp_path)


def run(*words: object) -> Result:
    """One call of the command, with no error of ours passed over."""
    result = CliRunner().invoke(main, [str(word) for word in words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def with_change(path: Path, old: str, new: str) -> Path:
    """The machine file with one change, which must be possible."""
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")
    return path


def test_check_says_that_all_is_well(berth: Path) -> None:
    result = run("check", berth)
    assert result.exit_code == 0
    assert "11 actuators, 22 relays, 22 of 24 outputs" in result.stdout
    # 2/7 tan 12 deg = 0.0607 keeps a solid sphere from slipping (OpenStax, University Physics 1,
    # 11.1, where a cylinder is worked).
    text = " ".join(result.stdout.split())
    assert "drop to swap transit 288 ms: roll 60 mm at 12 deg" in text
    assert "rolls without slipping if the coefficient of friction is at least 0.061" in text
    assert "cadence 1 s kept, shortest 616 ms (proven)" in text
    assert result.stdout.startswith("berth_board: ready to build\n")
    assert max(map(len, result.stdout.split("\n"))) <= 80


def test_check_of_a_missed_cadence_says_by_how_much(berth: Path) -> None:
    result = run("check", with_change(berth, "every 1 s", "every 0.5 s"))
    assert result.exit_code == 1
    assert "ms a frame, but its cadence is 500 ms; write `every " in result.stderr
    assert "berth_board.lanes:" in result.stderr


def test_check_of_an_unreachable_glyph_names_both_cells_and_the_repair(berth: Path) -> None:
    result = run("check", with_change(berth, "drop { per column", "drop { whole grid"))
    assert result.exit_code == 1
    assert "out of reach" in result.stderr
    assert "hint: " in result.stderr


def test_broken_input_ends_with_status_two_and_every_place(berth: Path) -> None:
    broken = with_change(berth, "coil small  settle 8 ms", "coil smal  settle 8 mm")
    result = run("check", broken)
    assert result.exit_code == 2
    line = next(
        number
        for number, text in enumerate(broken.read_text("utf-8").split("\n"), 1)
        if "smal " in text
    )
    assert result.stderr.count(f"berth_board.lanes:{line}:") == 2
    assert "small" in result.stderr
    document = json.loads(run("check", broken, "--json").stdout)
    assert [finding["line"] for finding in document["findings"]] == [line, line]


def test_a_missing_file_is_a_finding(tmp_path: Path) -> None:
    result = run("plan", tmp_path / "none.lanes")
    assert result.exit_code == 2
    assert "none.lanes" in result.stderr


def test_plan_as_json_has_what_the_table_needs(berth: Path) -> None:
    document = json.loads(run("plan", berth, "--show", "07", "--json").stdout)
    assert [frame["glyph"] for frame in document["frames"]] == ["0", "7"]
    for frame in document["frames"]:
        assert frame["proven"] is True
        assert frame["load_time_us"] > 0
        assert frame["change_us"] > 0
        moves = sum(len(step["set"]) for step in frame["passes"])
        gates = [name for step in frame["passes"] for name in step["cycle"]]
        assert sorted(gates) == ["drop.c1", "drop.c2", "drop.c3", "drop.c4"]
        assert frame["pulses"] == moves + 2 * (len(gates) + 1)
        assert {way for step in frame["passes"] for way in step["set"].values()} <= {
            "rest",
            "thrown",
        }
    assert 0 < document["period_us"] <= document["cadence_us"] == 1_000_000


def test_plan_draws_each_frame(berth: Path) -> None:
    result = run("plan", berth, "--show", "1")
    assert result.exit_code == 0
    assert "  . . # .   pass 1   selectors in place" in result.stdout


def test_plan_of_a_character_that_no_font_has(berth: Path) -> None:
    result = run("plan", berth, "--show", "0X")
    assert result.exit_code == 2
    assert "`X`" in result.stderr


@pytest.mark.parametrize("tables_for", ["programme", "glyph", "transition"])
@pytest.mark.parametrize("target", ["c99", "json", "csv"])
def test_what_build_writes_simulates(
    berth: Path, tmp_path: Path, target: str, tables_for: str
) -> None:
    out = tmp_path / "out"
    words = ("--out", out, "--target", target, "--tables-for", tables_for)
    result = run("build", berth, *words, "--show", "012")
    assert result.exit_code == 0, result.output
    assert "replayed without a fault" in result.stdout
    seen = run("simulate", berth, "--tables", out / target)
    assert seen.exit_code == 0, seen.output
    assert "no fault" in seen.stdout


def test_build_of_a_missed_cadence_writes_nothing_unless_it_may_be_slower(
    berth: Path, tmp_path: Path
) -> None:
    slow = with_change(berth, "every 1 s", "every 0.5 s")
    out = tmp_path / "out"
    assert run("build", slow, "--out", out).exit_code == 1
    assert not out.exists()
    assert run("build", slow, "--out", out, "--slower").exit_code == 0
    assert (out / "c99" / "seqc_player.c").is_file()


def test_simulate_reports_the_faults_of_damaged_tables(berth: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert run("build", berth, "--out", out, "--target", "json").exit_code == 0
    path = out / "json" / "seqc_tables.json"
    document = json.loads(path.read_text("utf-8"))
    document["tables"][1]["steps"][1]["at_us"] -= 20_000
    path.write_text(json.dumps(document), "utf-8")
    result = run("simulate", berth, "--tables", out / "json")
    assert result.exit_code == 1
    assert "fault: clear" in result.stdout
    assert "pulse-too-short" in result.stdout


def test_a_programme_too_long_for_a_build_is_told_by_check_and_refused_by_build(
    berth: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("seqc.face.planning.MOST_TABLES", 10)
    monkeypatch.setattr("seqc.codegen.checks.MOST_TABLES", 10)
    checked = run("check", berth)
    assert checked.exit_code == 0
    assert checked.stdout.startswith("berth_board: holds, too long to build\n")
    assert "programme `count` takes 11 tables, and a build holds 10" in checked.stderr
    built = run("build", berth, "--out", tmp_path / "out")
    assert built.exit_code != 0
    assert "11 tables of" in built.stderr
    assert not (tmp_path / "out").exists()


def test_demo_writes_the_example_and_its_firmware(tmp_path: Path) -> None:
    folder = tmp_path / "quay"
    result = run("demo", folder)
    assert result.exit_code == 0, result.output
    assert (folder / "berth_board.lanes").is_file()
    assert (folder / "firmware" / "c99" / "seqc_tables.h").is_file()
    assert f"are in {folder / 'firmware' / 'c99'}." in result.stdout


def test_demo_leaves_a_file_of_the_user_alone(tmp_path: Path) -> None:
    (tmp_path / "berth_board.lanes").write_text("mine", "utf-8")
    result = run("demo", tmp_path)
    assert result.exit_code == 2
    assert (tmp_path / "berth_board.lanes").read_text("utf-8") == "mine"
    assert list(tmp_path.iterdir()) == [tmp_path / "berth_board.lanes"]


def test_a_target_that_there_is_not(berth: Path, tmp_path: Path) -> None:
    result = run("build", berth, "--out", tmp_path / "out", "--target", "abacus")
    assert result.exit_code == 2
    assert "c99" in result.stderr


def test_the_list_of_targets_needs_no_machine() -> None:
    result = run("build", "--list")
    assert result.exit_code == 0
    assert [line.split()[0] for line in result.stdout.splitlines()][:1]
    assert {"c99", "json", "csv"} <= {line.split()[0] for line in result.stdout.splitlines()}


@pytest.mark.parametrize("words", [("check",), ("plan",), ("build", "--out", "x"), ("simulate",)])
def test_a_folder_in_place_of_a_machine_file(words: Sequence[str], tmp_path: Path) -> None:
    result = run(*words, tmp_path)
    assert result.exit_code == 2
    assert "Traceback" not in result.output


def test_a_whole_font_is_planned_glyph_by_glyph(berth: Path) -> None:
    result = run("plan", berth, "--whole-font", "harbour")
    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    assert len(lines) == 11
    assert lines[0].startswith('"0": 2 passes, ')
    assert "10 plans proven best" in lines[-1]
    document = json.loads(run("plan", berth, "--whole-font", "harbour", "--json").stdout)
    assert [glyph["glyph"] for glyph in document["glyphs"]] == list("0123456789")
    assert document["pulses"] == sum(glyph["plan"]["pulses"] for glyph in document["glyphs"])


def test_a_whole_font_is_planned_for_what_is_preferred(berth: Path) -> None:
    for prefer, timed in (("load time", True), ("pulses", False)):
        words = ("plan", berth, "--whole-font", "harbour", "--prefer", prefer)
        assert (", load " in run(*words).stdout) is timed
        document = json.loads(run(*words, "--json").stdout)
        assert document["prefer"] == prefer
        for glyph in document["glyphs"]:
            assert (glyph["plan"]["load_time_us"] is not None) is timed


@pytest.mark.parametrize("words", [("--show", "1"), ("--programme", "count"), ("--show", "")])
def test_a_whole_font_leaves_no_choice_of_frames(words: Sequence[str], berth: Path) -> None:
    result = run("plan", berth, "--whole-font", "harbour", *words)
    assert result.exit_code == 2
    assert f"--whole-font and {words[0]} exclude each other" in result.stderr


def test_a_whole_font_needs_a_supply_that_feeds_the_coils(berth: Path) -> None:
    weak = with_change(berth, "limit 4 A", "limit 1.2 A")
    result = run("plan", weak, "--whole-font", "harbour")
    assert result.exit_code == 1
    assert "error: supply bench " in result.stderr
    assert result.stdout == ""


def test_a_font_that_there_is_not(berth: Path) -> None:
    result = run("plan", berth, "--whole-font", "quay")
    assert result.exit_code == 2
    assert "no font `quay`" in result.stderr


def test_a_plan_says_what_it_prefers(berth: Path) -> None:
    for prefer in ("load time", "pulses"):
        words = ("plan", berth, "--show", "42", "--prefer", prefer, "--json")
        assert json.loads(run(*words).stdout)["prefer"] == prefer


def test_a_text_can_be_shown_on_one_copy_of_a_grid(tmp_path: Path) -> None:
    path = tmp_path / "board.lanes"
    text = BOARD.replace("rows 2 }", "rows 2 copies 2 }").replace("bits 10", "bits 20")
    path.write_text(text.replace('show "0"', 'show "00"'), "utf-8")
    shown = run("plan", path, "--show", "0", "--on", "g_2")
    assert shown.exit_code == 0
    assert "g_2" in shown.stdout
    assert "g_1" not in shown.stdout
