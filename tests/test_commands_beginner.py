"""What a beginner does wrong gets one sentence, and a hint that mends it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest
from click.testing import CliRunner
from examples_on_disk import machine_file

from seqc.cli.main import main

LIMIT = ("limit 4 A", "limit 1.2 A")


def checked(path: Path, edits: Sequence[str]) -> tuple[int, str]:
    text = path.read_text("utf-8")
    for old, new in zip(edits[::2], edits[1::2], strict=True):
        assert old in text
        text = text.replace(old, new)
    path.write_text(text, "utf-8")
    result = CliRunner().invoke(main, ["check", str(path)])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.stderr


@pytest.mark.parametrize(
    ("example", "edits", "message", "hint"),
    [
        (
            "berth_board",
            ("from bus }", "from bus at 0 2 4 }"),
            "there is no comma between `2` and the number before it",
            "write `at 0, 2, 4`",
        ),
        (
            "berth_board",
            ('show "0123456789"', 'show "01" on numeral, other'),
            "`on` takes one name",
            'write `show "12" on numeral  show "12" on other`',
        ),
        (
            "harbour_clock",
            ("on numeral }", "on numeral, other }"),
            "`on` takes one name",
            "write `on numeral  on other`",
        ),
        (
            "harbour_clock",
            ("copies 6", "copies 4"),
            "clock `day` needs 6 numerals, two for hours, minutes and seconds each, and has 4",
            "write `copies 6` in its grid, or `on` and a name for each of 6 grids",
        ),
        (
            "harbour_clock",
            (
                *("grid numeral", "grid seconds", "lane numeral", "lane seconds"),
                *("for numeral", "for seconds", "on numeral", "on seconds"),
            ),
            "`seconds` can't be a name after `on`: it is a setting here",
            "give what is called so another name, such as `seconds_`",
        ),
    ],
)
def test_one_mistake_is_one_finding(
    example: str, edits: Sequence[str], message: str, hint: str, tmp_path: Path
) -> None:
    status, said = checked(machine_file(example, tmp_path), edits)
    assert status == 2
    assert f": error: {message}\n" in said
    assert f"  hint: {hint}\n" in said
    assert said.endswith("\n1 error\n")


def test_what_only_follows_from_a_mistake_is_not_told(tmp_path: Path) -> None:
    path = machine_file("berth_board", tmp_path)
    status, said = checked(path, ("from bus }", "from wires }"))
    assert status == 2
    assert "no bus of outputs is called `wires`" in said
    assert "nothing uses" not in said
    assert said.endswith("\n1 error\n")


def test_the_limit_that_is_to_be_written_is_enough(tmp_path: Path) -> None:
    path = machine_file("berth_board", tmp_path)
    status, said = checked(path, LIMIT)
    assert status == 1
    # 12 V over 8.2 ohm is 1.463 A, and 20 % more 1.756 A.
    assert "hint: write `limit 1.76 A` or more" in said
    assert checked(path, (LIMIT[1], "limit 1.76 A"))[0] == 0
    assert checked(path, ("limit 1.76 A", "limit 1.75 A"))[0] == 1


def test_a_long_line_that_is_cut_shows_where(tmp_path: Path) -> None:
    path = machine_file("berth_board", tmp_path)
    long = " " * 90
    _, said = checked(path, ("limit 4 A", f"limit 4 mm{long}margin 20 %", "margin 20 % }", "}"))
    line = next(line for line in said.split("\n") if "limit 4 mm" in line)
    assert line.endswith("...")


def test_grids_are_columns_by_rows(tmp_path: Path) -> None:
    path = machine_file("berth_board", tmp_path)
    _, said = checked(path, ("columns 4  rows 6", "columns 5  rows 6"))
    assert "glyph `0` is 4 columns by 6 rows; grid `numeral` is 5 columns by 6 rows" in said
