"""Formatting: the layout of the examples, comments kept, and nothing changed in what is meant."""

from __future__ import annotations

import re
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from random import Random

import pytest
from click.testing import CliRunner, Result
from hypothesis import given, settings
from malformed import BOARD
from random_texts import random_text, strewn
from test_language_constructs import BERTH, RICH
from test_language_mutations import mutated

from seqc.cli.main import main
from seqc.language import read_text
from seqc.language.formatting import formatted
from seqc.language.formatting.lexemes import lexemes
from seqc.language.parsing import parse
from seqc.machine.findings import Findings

PLACE = re.compile(r"Place\([^()]*\)")
EXAMPLES = sorted(one.name for one in files("seqc.examples").iterdir() if one.name[-6:] == ".lanes")


def laid_out(text: str) -> str:
    findings = Findings()
    done = formatted(text, "board.lanes", findings)
    assert done is not None, list(map(str, findings))
    return done


def meaning(text: str) -> str:
    """The machine that a text declares, and its findings, without any place in the text."""
    findings = Findings()
    declared = read_text(text, "board.lanes", findings)
    codes = sorted(finding.code for finding in findings)
    return PLACE.sub("", repr(declared)) + str(codes)


def words_of(text: str) -> Iterator[tuple[str, str]]:
    """Each statement by itself, however it is laid out."""
    statements, _ = parse(text, "board.lanes", Findings())
    return ((one.keyword, PLACE.sub("", repr((one.names, one.pieces)))) for one in statements)


def comments_of(text: str) -> list[str]:
    return [one.text for one in lexemes(text) if one.is_comment]


def assert_same(text: str) -> None:
    """Formatting keeps words, comments and machine, and has nothing to do a second time."""
    done = laid_out(text)
    assert list(words_of(done)) == list(words_of(text))
    assert sorted(comments_of(done)) == sorted(comments_of(text))
    assert meaning(done) == meaning(text)
    assert laid_out(done) == done


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_example_is_laid_out_already(name: str) -> None:
    text = (files("seqc.examples") / name).read_text("utf-8")
    assert laid_out(text) == text


@pytest.mark.parametrize("text", [BOARD, BERTH, RICH])
def test_what_is_written_by_hand_means_the_same(text: str) -> None:
    assert_same(text)


def test_the_board_of_the_design_is_laid_out_already() -> None:
    assert laid_out(BERTH) == BERTH


def test_settings_align_as_far_as_all_lines_have_the_same() -> None:
    ragged = """\
selector pick { per row coil small settle 8 ms }
gate drop { per column coil small open 45 ms refill 60 ms }
gate swap {whole grid   coil large open 70ms}
drive pick { bridge dead time 1 ms from bus }
drive drop, swap { changeover pair from bus at 8,9 }
"""
    assert (
        laid_out(ragged)
        == """\
selector pick { per row     coil small  settle 8 ms }
gate     drop { per column  coil small  open 45 ms  refill 60 ms }
gate     swap { whole grid  coil large  open 70 ms }
drive pick       { bridge           dead time 1 ms  from bus }
drive drop, swap { changeover pair  from bus at 8, 9 }
"""
    )


def test_a_line_between_ends_a_group() -> None:
    apart = "item a { tone dark  stock 1 }\n\nitem bc { tone d  stock 1 }\n# x\nitem d { tone e }\n"
    assert laid_out(apart) == apart


def test_long_blocks_are_broken() -> None:
    long = f"coil small {{ {' '.join(f'pulse {number} ms' for number in range(100, 120))} }}\n"
    lines = laid_out(long).split("\n")
    assert lines[0] == "coil small {"
    assert lines[-2:] == ["}", ""]
    assert all(line.startswith("    pulse") and len(line) <= 100 for line in lines[1:-2])
    assert len(lines[1]) > 80


def test_comments_stay_where_they_are() -> None:
    text = """\
# above
lane g = shown <- swap  # seen
    # waits
    <- drop <- slate

coil small {  # note
    # first
    12 V   # from the data sheet
    8 ohm  # measured

    pulse 40 ms  travel 18 ms
    # last
}  # end
"""
    assert laid_out(text) == text


def test_a_comment_in_the_midst_of_a_setting_goes_behind_it() -> None:
    done = laid_out("gate drop # why\n { open # how long\n 5 ms coil small }")
    assert done == "gate drop {  # why\n    open 5 ms  # how long\n    coil small\n}\n"


def test_rows_stay_as_they_are_drawn() -> None:
    text = """\
font f for g {
    glyph "0" { |#.| |.#| }
    glyph "1" {
        |# |  # a blank is a mark
        |.#|
    }
}
"""
    assert laid_out(text) == text


def test_line_ends_stay_those_of_the_text() -> None:
    assert laid_out("item a {tone b}\r\n# c\r\n") == "item a { tone b }\r\n# c\r\n"


def test_an_empty_text_stays_empty() -> None:
    assert laid_out("") == ""
    assert laid_out(" \n\n") == ""


@pytest.mark.quick(6, 94)
@pytest.mark.parametrize("seed", range(1_000))
def test_random_machines_stay_the_same(seed: int) -> None:
    random = Random(seed)
    text = random_text(random)
    assert "Declared(" in meaning(text), text
    assert_same(text)
    assert_same(strewn(random, text))


@settings(max_examples=60, deadline=None)
@given(mutated())
def test_what_is_half_right_stays_as_it_is_meant(text: str) -> None:
    findings = Findings()
    parse(text, "board.lanes", findings)
    if findings.has_errors:
        assert formatted(text, "board.lanes", Findings()) is None
    else:
        assert_same(text)


def run(*words: object) -> Result:
    result = CliRunner().invoke(main, ["format", *map(str, words)])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def test_the_command_writes_the_file_and_says_so(tmp_path: Path) -> None:
    path = tmp_path / "board.lanes"
    path.write_text("item a {tone b}", "utf-8")
    path.chmod(0o640)
    checked = run(path, "--check")
    assert checked.exit_code == 1
    assert "board.lanes: would change" in checked.stdout
    assert path.read_text("utf-8") == "item a {tone b}"
    assert run(path).stdout.endswith("board.lanes: formatted\n")
    assert path.read_text("utf-8") == "item a { tone b }\n"
    assert path.stat().st_mode & 0o777 == 0o640
    again = run(path, "--check")
    assert again.exit_code == 0
    assert "board.lanes: unchanged" in again.stdout
    assert [one.name for one in tmp_path.iterdir()] == ["board.lanes"]


def test_a_syntax_error_is_reported_and_no_file_is_written(tmp_path: Path) -> None:
    good, bad = tmp_path / "good.lanes", tmp_path / "bad.lanes"
    good.write_text("item a {tone b}", "utf-8")
    bad.write_text("item a { tone b\n", "utf-8")
    result = run(good, bad)
    assert result.exit_code == 2
    assert "bad.lanes:1:16: error: the block isn't closed" in result.stderr
    assert good.read_text("utf-8") == "item a {tone b}"
    assert run(tmp_path / "none.lanes").exit_code == 2
    assert run().exit_code == 2
