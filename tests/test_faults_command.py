"""`seqc diagnose`: the file of what was seen, its mistakes, and what the command prints."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from boards import board, glyph, grid_of
from click.testing import CliRunner, Result

from seqc.cli.main import main
from seqc.examples import example_files
from seqc.faults import NOT_LOOKED, SeenFile, read_seen
from seqc.machine.findings import Findings
from seqc.machine.glyphs import Frame
from seqc.machine.parts import Cell

GRID = grid_of(2, 2)
MACHINE = board([GRID])
TEST = Frame((glyph(GRID, "01", "10", name="test 1"),))
TWO = board([grid_of(1, 2, name="tens"), grid_of(1, 2, name="ones")])
RING = board([grid_of(2, 2, absent=[Cell(1, 1)])])


def read(text: str, machine: object = MACHINE) -> tuple[SeenFile | None, Findings]:
    found = Findings()
    return read_seen(text, "seen.txt", machine, lambda: (TEST,), found), found  # type: ignore[arg-type]


def test_every_kind_of_block() -> None:
    text = """
# seen on Sunday
before |s?| |_c|
test 1
    |sc|   # the upper row
    |c?|
picture |ss| |ss|
seen    |ss| |s_|
test 1 |sc| |cs|
"""
    seen, found = read(text.replace("s", "s").replace("c", "c"))
    assert not found.reported, [str(each) for each in found]
    assert seen is not None
    assert seen.before == {"numeral": ("slate", NOT_LOOKED, None, "chalk")}
    assert [play.name for play in seen.plays] == ["test 1", "picture 1", "test 1"]
    assert seen.plays[0].seen == {"numeral": ("slate", "chalk", "chalk", NOT_LOOKED)}
    assert [glyph.kinds for glyph in seen.plays[1].frame] == [("slate",) * 4]
    assert seen.plays[1].seen["numeral"][3] is None


def test_several_grids_make_one_frame() -> None:
    text = "picture on tens |ss|\npicture on ones |cc|\nseen on tens |ss|\nseen on ones |c?|\n"
    seen, found = read(text, TWO)
    assert not found.reported
    assert seen is not None
    (play,) = seen.plays
    assert set(play.seen) == {"tens", "ones"}
    assert [glyph.kinds for glyph in play.frame] == [("slate", "slate"), ("chalk", "chalk")]


def test_cells_that_a_grid_lacks() -> None:
    seen, found = read("picture |-s| |cs|\nseen |-s| |c?|\n", RING)
    assert not found.reported
    assert seen is not None
    assert seen.plays[0].seen["numeral"] == ("slate", "chalk", NOT_LOOKED)


MISTAKES = [
    ("", 1, 1, "no frame is in it", "without this file"),
    ("# nothing", 1, 1, "no frame is in it", "without this file"),
    ("|sc| |cs|", 1, 2, "it isn't said which frame this is", "a head is"),
    ("tset 1 |sc| |cs|", 1, 1, "`tset` isn't the head of a picture", "did you mean `test`?"),
    ("test 9 |sc| |cs|", 1, 1, "there is no test frame 9", "there are 1, from 1 on"),
    ("test |sc| |cs|", 1, 1, "there is no test frame without a number", "there are 1"),
    ('frame "7" |sc| |cs|', 1, 1, "no font of grid `numeral` has a glyph `7`", "`picture`"),
    ("test 1 |sc|", 1, 1, "this is 1 row; grid `numeral` has 2", "draw every cell"),
    ("test 1 |sc| |c|", 1, 14, "row 2 has 1 mark; grid `numeral` has 2 columns", "draw every cell"),
    ("test 1 |sx| |cs|", 1, 10, "`x` is no mark of this machine", "marks are `s` slate, `c` chalk"),
    ("test 1 on ones |sc| |cs|", 1, 1, "there is no grid `ones`", "`numeral`"),
    ("test 1 |sc| |cs| and so on", 1, 18, "`and so on` isn't understood", "between bars"),
    ("seen |sc| |cs|", 1, 1, "it isn't told what was asked for", "put `picture` before it"),
    ("picture |sc| |cs|", 1, 1, "it isn't told what was seen of it", "write `seen`"),
    ("picture |s_| |cs|", 1, 1, "has no item", "`?` and `_` are for what was seen"),
    ("test 1 |sc| |cs|\nbefore |sc| |cs|", 2, 1, "told too late, or twice", "at the top"),
]


@pytest.mark.parametrize(("text", "line", "column", "message", "hint"), MISTAKES)
def test_mistakes(text: str, line: int, column: int, message: str, hint: str) -> None:
    seen, found = read(text)
    assert seen is None
    first = next(iter(found))
    assert message in first.message
    assert hint in first.hint
    assert (first.place.line, first.place.column) == (line, column)


def test_a_mistake_in_the_picture_that_was_asked_for_is_told_once() -> None:
    _, found = read("picture |sx| |cs|\nseen |sc| |cs|")
    assert [each.code for each in found] == ["sight-mark"]


def test_mistakes_in_machines_of_several_grids_or_with_absent_cells() -> None:
    _, found = read("picture |sc|", TWO)
    assert "it isn't told of which grid" in next(iter(found)).message
    _, found = read("picture |ss| |cs|\nseen |ss| |cs|", RING)
    assert "row 1 column 1 is drawn" in next(iter(found)).message
    _, found = read("picture on tens |sc|\nseen on tens |sc|\nseen on tens |sc|", TWO)
    assert next(iter(found)).code in ("sight-twice", "sight-head")


def run(*call: str) -> Result:
    return CliRunner().invoke(main, ["diagnose", *call])


@pytest.fixture(scope="module")
def berth(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """The berth board's file, and the test frames that the command prints for it."""
    folder = tmp_path_factory.mktemp("berth")
    for name, text in example_files("berth_board").items():
        (folder / name).write_text(text)
    machine = folder / "berth_board.lanes"
    result = run(str(machine))
    assert result.exit_code == 0
    return machine, result.stdout


def test_test_frames_are_printed_as_a_file_to_fill_in(berth: tuple[Path, str]) -> None:
    machine, text = berth
    assert text.startswith("# berth_board: ")
    seen = machine.parent / "seen.txt"
    seen.write_text(text)
    result = run(str(machine), str(seen))
    assert result.exit_code == 0, result.output
    assert result.stdout.startswith("berth_board: all is as it should be in 3 frames")


@pytest.mark.thorough
def test_a_column_that_stays_as_it_was(berth: tuple[Path, str]) -> None:
    machine, text = berth
    seen = machine.parent / "dead.txt"
    seen.write_text(re.sub(r"\|(.).(..)\|", r"|\1#\2|", text))
    result = run(str(machine), str(seen))
    assert result.exit_code == 1
    assert "6 cells wrong in 3 frames" in result.stdout
    assert "rows 1-6 column 2" in result.stdout
    assert "drop column 2 stays at rest" in result.stdout
    assert "Caution:" in result.stdout
    assert all(len(line) <= 80 for line in result.stdout.splitlines())
    document = json.loads(run(str(machine), str(seen), "--json").stdout)
    causes = document["suspects"][0]["causes"]
    assert {"drop.c2"} == {name for c in causes for f in c["faults"] for name in f["actuators"]}
    assert len(document["wrong"]) == 6


def test_a_file_with_mistakes_ends_with_their_places(berth: tuple[Path, str]) -> None:
    machine, _ = berth
    seen = machine.parent / "bad.txt"
    seen.write_text("test 1\n    |####|\n")
    result = run(str(machine), str(seen))
    assert result.exit_code == 2
    assert f"{seen}:1:1: error: this is 1 row; grid `numeral` has 6" in result.stderr
    assert not result.stdout
    missing = run(str(machine), str(machine.parent / "nowhere.txt"))
    assert missing.exit_code == 2
    assert "error" in missing.stderr


@pytest.mark.thorough
def test_what_was_worked_on_last_comes_first(berth: tuple[Path, str]) -> None:
    machine, _ = berth
    seen = machine.parent / "row.txt"
    seen.write_text('frame "1"\n  |####| |.##.| |..#.| |..#.| |..#.| |..#.|\n')
    plain = json.loads(run(str(machine), str(seen), "--json").stdout)
    handled = json.loads(run(str(machine), str(seen), "--handled", "pick.r1", "--json").stdout)

    def share(document: dict[str, list[dict[str, list[dict[str, object]]]]]) -> float:
        causes = [cause for each in document["suspects"] for cause in each["causes"]]
        return sum(float(str(c["share"])) for c in causes if "pick.r1" in str(c["faults"]))

    assert share(handled) > share(plain)
    wrong = run(str(machine), str(seen), "--handled", "pick.r9")
    assert wrong.exit_code == 2
    assert "the machine has no actuator `pick.r9`" in wrong.stderr
    assert run(str(machine), "--new").exit_code == 2
