"""Calls that can't be understood, and screens that can't be written to."""

from __future__ import annotations

import io
import json
import os
import re
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from examples_on_disk import machine_file

import seqc
from seqc.cli.main import main

COMMANDS = ("check", "plan", "build", "simulate", "forecast")


@pytest.fixture
def berth(tmp_path: Path) -> Path:
    """The machine file of the berth board."""
    return machine_file("berth_board", tmp_path)


def run(*words: object) -> Result:
    """One call of the command, with no error of ours passed over."""
    result = CliRunner().invoke(main, [str(word) for word in words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def run_apart(*words: object, **settings: str) -> subprocess.CompletedProcess[bytes]:
    """One call in a process of its own, with its outputs as they are."""
    command = [sys.executable, "-c", "from seqc.cli.main import main; main()", *map(str, words)]
    return subprocess.run(command, capture_output=True, env={**os.environ, **settings})


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize("words", [(), ("--nonsense",), ("--show",), ("a", "b", "c")])
def test_a_call_that_cannot_be_understood_is_a_document_too(
    command: str, words: Sequence[str]
) -> None:
    result = run(command, *words, "--json")
    assert result.exit_code == 2
    (finding,) = json.loads(result.stdout)["findings"]
    assert (finding["severity"], finding["code"]) == ("error", "bad-call")
    assert result.stderr == ""


@pytest.mark.parametrize("command", ["sing", "--sing"])
def test_a_command_that_there_is_not(command: str) -> None:
    result = run(command)
    assert result.exit_code == 2
    assert "sing" in result.stderr
    assert result.stdout == ""


def test_a_kind_that_is_plentiful_fills_every_cell_alone(berth: Path, tmp_path: Path) -> None:
    planned = run("plan", berth, "--only", "chalk", "--json")
    assert planned.exit_code == 0
    simulated = run("simulate", berth, "--only", "chalk")
    assert "no fault" in simulated.stdout
    assert "used    24 chalk" in simulated.stdout
    assert "not compared" not in simulated.stdout
    assert run("build", berth, "--only", "chalk", "--out", tmp_path / "out").exit_code == 0
    unknown = run("plan", berth, "--only", "coal")
    assert unknown.exit_code == 2
    assert "grid `numeral` has no magazines of `coal`" in unknown.stderr


@pytest.mark.parametrize("command", ["plan", "simulate", "forecast"])
@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--show", "1", "--programme", "count"), "--show and --programme exclude each other"),
        (("--show", "1", "--only", "chalk"), "--show and --only exclude each other"),
        (("--on", "numeral"), "--on needs --show or --only"),
        (("--font", "harbour"), "--font needs --show"),
    ],
)
def test_options_that_would_have_no_effect_are_refused(
    command: str, words: Sequence[str], message: str, berth: Path
) -> None:
    result = run(command, berth, *words)
    assert result.exit_code == 2
    assert message in result.stderr


@pytest.mark.parametrize("option", ["--price", "--budget", "--ambient"])
@pytest.mark.parametrize("number", ["nan", "inf", "-inf"])
def test_numbers_that_are_none_are_refused(option: str, number: str, berth: Path) -> None:
    words = ("--price", "1", option, number)
    result = run("forecast", berth, *words)
    assert result.exit_code == 2
    assert option in result.stderr


@pytest.mark.quick(3)
@pytest.mark.parametrize("command", COMMANDS)
def test_every_document_has_its_findings(command: str, berth: Path, tmp_path: Path) -> None:
    text = berth.read_text("utf-8")
    berth.write_text(f"{text}relay spare {{ operate 8 ms release 5 ms }}\n", "utf-8")
    more = ("--out", tmp_path / "out") if command == "build" else ()
    document = json.loads(run(command, berth, *more, "--json").stdout)
    assert "nothing uses relay `spare`" in [finding["message"] for finding in document["findings"]]


@pytest.mark.quick(1)
@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="needs /dev/full")
@pytest.mark.parametrize("words", [(), ("--json",)])
def test_a_full_disk_behind_the_output_is_an_error(words: Sequence[str], berth: Path) -> None:
    command = [sys.executable, "-c", "from seqc.cli.main import main; main()", "check", str(berth)]
    with open("/dev/full", "wb") as full:
        result = subprocess.run([*command, *words], stdout=full, stderr=subprocess.PIPE)
    assert result.returncode == 2
    assert result.stderr.decode().startswith("error: ")
    assert b"Traceback" not in result.stderr


@pytest.mark.quick(1)
@pytest.mark.parametrize("closed", ["2>&-", ">&-", ">&- 2>&-"])
def test_closed_outputs_are_no_error(closed: str, berth: Path) -> None:
    command = f'"{sys.executable}" -c "from seqc.cli.main import main; main()" check "{berth}"'
    result = subprocess.run(f"{command} {closed}", shell=True, capture_output=True)
    assert result.returncode == 0
    assert result.stderr == b""
    assert (b"11 actuators" in result.stdout) is (closed == "2>&-")


@pytest.mark.parametrize("words", [("build", "--out", ""), ("build", "--out", " "), ("demo", "")])
def test_a_folder_without_a_name_is_refused(
    words: Sequence[str], berth: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(berth.parent)
    before = sorted(berth.parent.iterdir())
    result = run(*words, *([berth] if words[0] == "build" else []))
    assert result.exit_code == 2
    assert "a folder needs a name" in result.stderr
    assert sorted(berth.parent.iterdir()) == before


@pytest.mark.parametrize(
    ("words", "choices"),
    [
        (("build", "--tables-for"), "`glyph`, `transition`, `programme` or `commissioning`"),
        (("plan", "--prefer"), "`load time` or `pulses`"),
        (("demo", "--example"), "`berth_board` or `pattern_board`"),
    ],
)
def test_an_option_without_its_argument_lists_what_it_may_be(
    words: Sequence[str], choices: str
) -> None:
    result = run(*words)
    assert result.exit_code == 2
    assert f"requires an argument. It is one of {choices}." in result.stderr
    if words[0] != "demo":
        (finding,) = json.loads(run(words[0], "--json", words[1]).stdout)["findings"]
        assert choices in finding["message"]


def test_a_reader_that_has_gone_is_no_error_of_ours(berth: Path) -> None:
    command = [sys.executable, "-c", "from seqc.cli.main import main; main()", "plan", str(berth)]
    reader, writer = os.pipe()
    os.close(reader)
    with os.fdopen(writer, "wb") as gone:
        result = subprocess.run(command, stdout=gone, stderr=subprocess.PIPE)
    assert result.stderr == b""


@pytest.mark.quick(1)
@pytest.mark.parametrize("encoding", ["latin-1", "koi8-r"])
def test_a_screen_that_lacks_a_character_shows_its_code(encoding: str, berth: Path) -> None:
    text = berth.read_text("utf-8")
    berth.write_text(text.replace('"0"', '"\u2693"').replace('"0123', '"\u2693123'), "utf-8")
    result = run_apart("plan", berth, "--show", "\u2693", PYTHONIOENCODING=encoding)
    assert result.returncode == 0, result.stderr
    assert b"\\u2693" in result.stdout
    document = json.loads(run_apart("plan", berth, "--json", PYTHONIOENCODING=encoding).stdout)
    assert document["frames"][0]["glyph"] == "\u2693"


def test_a_stop_by_hand_is_neither_well_nor_short(
    berth: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(seqc, "read", stopped)
    result = run("plan", berth)
    assert result.exit_code == 130
    assert result.stderr == "stopped\n"


def test_nothing_is_shown_of_progress_where_no_one_looks(monkeypatch: pytest.MonkeyPatch) -> None:
    from seqc.cli import common

    monkeypatch.setattr(common, "PATIENCE_S", 0.0)
    monkeypatch.setattr(sys, "stderr", shown := io.StringIO())
    with common.progress("resting"):
        pass
    assert shown.getvalue() == ""


def test_a_picture_that_no_font_draws_is_not_passed_over(berth: Path, tmp_path: Path) -> None:
    words = ("--target", "json", "--tables-for", "glyph", "--show", "01")
    assert run("build", berth, "--out", tmp_path / "out", *words).exit_code == 0
    text = berth.read_text("utf-8")
    berth.write_text(text.replace('glyph "0"', 'glyph "zero"').replace('"0123', '"123'), "utf-8")
    result = run("simulate", berth, "--tables", tmp_path / "out" / "json")
    assert result.exit_code == 1
    assert "picture not compared: no font has this frame: 0" in result.stdout
    seen = run("simulate", berth, "--tables", tmp_path / "out" / "json", "--json")
    assert json.loads(seen.stdout)["unchecked"] == ["0"]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("0{12", "error: this brace is never closed, in place 2 of the text to show"),
        ("", "error: there is nothing to show"),
        ("0X", "error: font `harbour` has no glyph `X`"),
        ("0\x1b[2J", "error: font `harbour` has no glyph `\ufffd`"),
    ],
)
def test_a_text_that_cannot_be_shown_says_why(text: str, message: str, berth: Path) -> None:
    result = run("plan", berth, "--show", text)
    assert result.exit_code == 2
    assert message in result.stderr
    assert result.stderr.replace("\n", "").isprintable()


def test_a_folder_in_place_of_a_machine_file_is_called_one(tmp_path: Path) -> None:
    assert "is a folder" in run("check", tmp_path).stderr
    os.mkfifo(tmp_path / "pipe")
    assert "is no plain file" in run("check", tmp_path / "pipe").stderr


def test_the_list_of_targets_is_a_document_too() -> None:
    document = json.loads(run("build", "--list", "--json").stdout)
    assert {"name": "c99", "title": "Portable C99"} in document["targets"]


@pytest.mark.parametrize("words", [(), ("--json",)])
def test_a_list_with_a_broken_target_says_what_is_broken(
    words: Sequence[str], tmp_path: Path
) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "target.toml").write_text("title = 3\n", "utf-8")
    result = run("build", "--targets", tmp_path, "--list", *words)
    assert result.exit_code == 2
    assert "'title' must be given as a text" in result.output
    assert bool(result.stdout) == bool(words)


def test_frames_are_drawn_from_the_one_that_was_asked_for(berth: Path) -> None:
    result = run("simulate", berth, "--from", 9, "--frames", 1)
    assert result.exit_code == 0
    assert "frame 9 of 10 below; more with --from 10; round 2 the same" in result.stdout
    assert "tick 9" in result.stdout
    assert "tick 8" not in result.stdout
    beyond = run("simulate", berth, "--from", 11)
    assert beyond.exit_code == 2
    assert "--from 11 is beyond the last of 10 frames" in beyond.stderr
    for other in (("--json",), ("--samples", 3)):
        assert run("simulate", berth, "--from", 2, *other).exit_code == 2


@pytest.mark.quick(1)
@pytest.mark.parametrize("command", ["check", "plan"])
def test_times_are_printed_to_the_microsecond_on_demand(berth: Path, command: str) -> None:
    found = json.loads(run("check", berth, "--json").stdout)
    period_us = found["programmes"][0]["period_us"]
    exact = " ".join(run(command, berth, "--exact").stdout.split())
    assert f"shortest {period_us:,} us (proven)" in exact
    assert " ms" not in exact.replace("every 1 s", "")
    rounded = " ".join(run(command, berth).stdout.split())
    assert f"shortest {-(-period_us // 1000)} ms (proven)" in rounded
    assert " us" not in rounded


def test_a_plan_draws_some_of_its_frames(tmp_path: Path) -> None:
    file = str(machine_file("berth_board", tmp_path))
    told = CliRunner().invoke(main, ["plan", file, "--from", "4", "--frames", "2"])
    assert [line[:3] for line in told.stdout.splitlines() if line.startswith('"')] == ['"3"', '"4"']
    assert "frames 4 to 5 of 10 below; more with --from 6" in told.stdout
    beyond = CliRunner().invoke(main, ["plan", file, "--from", "11"])
    assert beyond.exit_code == 2
    assert "--from 11 is beyond the last of 10 frames" in beyond.stderr


def test_a_plan_tells_its_pulses_with_their_times_on_demand(tmp_path: Path) -> None:
    file = str(machine_file("berth_board", tmp_path))
    told = CliRunner().invoke(main, ["plan", file, "--show", "0", "--pulses", "--exact"]).stdout
    rows = re.findall(r"^ +([0-9,]+) us to +([0-9,]+) us   (\S+) (thrown|rest)$", told, re.M)
    assert len(rows) == 18
    starts = [int(start.replace(",", "")) for start, *_ in rows]
    assert starts == sorted(starts)
    assert all(
        int(end.replace(",", "")) > at for at, (_, end, *_) in zip(starts, rows, strict=True)
    )
    assert [row[2:] for row in rows[-2:]] == [("swap", "thrown"), ("swap", "rest")]
    refused = CliRunner().invoke(main, ["plan", file, "--pulses", "--json"])
    assert refused.exit_code == 2
