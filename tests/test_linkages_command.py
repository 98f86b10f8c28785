"""`seqc linkages` as a maker calls it: lists, drawings, files to write, and what is refused."""

from __future__ import annotations

import importlib
import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from linkage_fonts import FONTS

from seqc.cli.main import main

TINY = """
font tiny for face {
    mark "#" red
    mark "." blue
    glyph "a" { |#.#| |.#.| }
    glyph "b" { |##.| |..#| }
    glyph "c" { |#..| |.##| }
}
"""
WITHOUT_LINKAGES = """
machine small
tolerance 5 %
item red { tone red }
item blue { tone blue }
grid face { columns 3 rows 2 }
lane face = shown <- swap <- drop <- pick(red, blue)
selector pick { coil small settle 8 ms }  # which kind
gate drop { coil small open 45 ms }
gate swap { whole grid coil small open 45 ms }
path drop -> swap { roll 60 mm at 12 deg }
path swap -> shown { roll 60 mm at 12 deg }
coil small { 12 V 15 ohm 9 mH pulse 30 ms travel 16 ms minimum off 30 ms }
outputs bus { bits 12 }
drive pick, drop, swap { bridge dead time 1 ms from bus }
supply bench { 12 V limit 4 A }
"""


def run(*words: object) -> Result:
    """One call of the command, with no error of ours passed over."""
    result = CliRunner().invoke(main, [str(word) for word in words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


@pytest.fixture
def tiny(tmp_path: Path) -> Path:
    """A file with a font and nothing else."""
    path = tmp_path / "tiny.lanes"
    path.write_text(TINY, "utf-8")
    return path


@pytest.fixture
def small(tmp_path: Path) -> Path:
    """A machine whose linkages are left out."""
    path = tmp_path / "small.lanes"
    path.write_text(WITHOUT_LINKAGES + TINY, "utf-8")
    return path


def test_a_font_alone_is_enough_and_what_is_typical_is_said(tiny: Path) -> None:
    result = run("linkages", tiny)
    assert result.exit_code == 0, result.output
    lines = result.output.splitlines()
    assert lines[0] == "board: 3 glyphs of tiny on 2 by 3 cells; linkages of any cells"
    assert lines[1].startswith("typical, not yours: selectors, gates, paths")
    assert "plain" in lines[3]
    assert any("proven" in line for line in lines)
    assert all(len(line) <= 100 for line in lines)


def test_a_machine_keeps_its_own_parts(small: Path) -> None:
    document = json.loads(run("linkages", small, "--json").output)
    assert document["typical"] == []
    assert document["machine"] == "small"
    plain = document["designs"][0]
    assert (plain["name"], plain["actuators"], plain["relays"]) == ("plain", 6, 0)
    assert plain["linkages"]["pick"] == {"groups": 2, "kind": "per row"}
    assert [finding["severity"] for finding in document["findings"]] == []


def test_a_design_that_is_written_is_read_and_built(small: Path, tmp_path: Path) -> None:
    document = json.loads(run("linkages", small, "--json").output)
    for number in range(1, len(document["designs"]) + 1):
        out = tmp_path / f"new{number}.lanes"
        drawn = run("linkages", small, "--draw", number, "-o", out)
        assert drawn.exit_code == 0, drawn.output
        assert "selector pick {" in drawn.output
        assert "# which kind" in out.read_text("utf-8")
        checked = run("check", out)
        assert checked.exit_code == 0, checked.output
        assert run("build", out, "--out", tmp_path / f"built{number}").exit_code == 0


def test_a_font_file_is_enough(tmp_path: Path) -> None:
    font = tmp_path / "dots.bdf"
    font.write_text(BDF, "ascii")
    result = run("linkages", font)
    assert result.exit_code == 0, result.output
    assert "2 glyphs of dots on 2 by 2 cells" in result.output
    out = tmp_path / "dots.lanes"
    assert run("linkages", font, "--show", "A", "--draw", "1", "-o", out).exit_code == 0
    assert run("check", out).exit_code == 0


def test_what_is_built_stays(small: Path) -> None:
    text = small.read_text("utf-8").replace("gate drop {", "gate drop { map { |aab| |abb| }")
    small.write_text(text, "utf-8")
    document = json.loads(run("linkages", small, "--built", "drop", "--json").output)
    others = [each for each in document["designs"] if each["name"] not in ("plain", "declared")]
    assert others
    assert all(each["linkages"]["drop"]["map"] == ["aab", "abb"] for each in others)
    document = json.loads(run("linkages", small, "--built", "drop.a", "--json").output)
    for each in document["designs"][2:]:
        rows = each["linkages"]["drop"]["map"]
        assert {sign == rows[0][0] for sign in rows[0][:2] + rows[1][:1]} == {True}
        assert rows[0][0] not in rows[0][2:] + rows[1][1:]


def test_what_is_in_reserve_is_within_reach_but_not_counted(tiny: Path) -> None:
    alone = json.loads(run("linkages", tiny, "--show", "ab", "--json").output)
    both = json.loads(run("linkages", tiny, "--show", "ab", "--reserve", "c", "--json").output)
    assert both["reserve"] == ["c"]
    fewest = [min(each["actuators"] for each in found["designs"]) for found in (alone, both)]
    assert fewest[0] <= fewest[1]


def test_a_design_is_written_over_nothing(small: Path) -> None:
    before = small.read_text("utf-8")
    result = run("linkages", small, "--draw", "1", "-o", small)
    assert result.exit_code == 2
    assert "is there already" in result.stderr
    assert small.read_text("utf-8") == before


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("-o", "x.lanes"), "-o needs --draw N"),
        (("--draw", "99"), "designs, so no number 99"),
        (("--built", "nothing"), "nothing is built that is named `nothing`"),
        (("--show", "x"), "has no glyph"),
        (("--show", "{a"), "this brace is never closed"),
        (("--font", "other"), "the machine has no font `other`"),
        (("--shape", "round"), "is not one of"),
        (("--passes", "0"), "not in the range"),
    ],
)
def test_calls_that_make_no_sense_say_why(words: tuple[str, ...], message: str, tiny: Path) -> None:
    result = run("linkages", tiny, *words)
    assert result.exit_code == 2
    assert message in result.stderr


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "there is no font to link cells for"),
        ("machine x\n", "there is no font to link cells for"),
        ("font f for g { mark }", "needs"),
        ("font f for g {", "the block isn't closed"),
        ('font f for g { mark "#" a glyph "x" { |#| |##| } }', "row"),
        ('font f for g { mark "#" a }', "grid"),
    ],
)
def test_files_that_say_too_little_are_told_what(text: str, message: str, tmp_path: Path) -> None:
    path = tmp_path / "odd.lanes"
    path.write_text(text, "utf-8")
    result = run("linkages", path)
    assert result.exit_code == 2, result.output
    assert message in result.stderr
    assert "Traceback" not in result.output


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    assert "there is no file" in run("linkages", tmp_path / "none.lanes").stderr
    (tmp_path / "noise.pcf").write_bytes(bytes(range(256)))
    assert run("linkages", tmp_path / "noise.pcf").exit_code == 2


@pytest.mark.thorough
def test_equal_input_gives_equal_lists(tmp_path: Path) -> None:
    (tmp_path / "narrow.lanes").write_text(FONTS["narrow"], "utf-8")
    words = ("linkages", tmp_path / "narrow.lanes", "--passes", "2", "--json")
    assert run(*words).output == run(*words).output


BDF = """STARTFONT 2.1
FONT dots
SIZE 2 75 75
FONTBOUNDINGBOX 2 2 0 0
CHARS 2
STARTCHAR A
ENCODING 65
SWIDTH 500 0
DWIDTH 2 0
BBX 2 2 0 0
BITMAP
80
40
ENDCHAR
STARTCHAR B
ENCODING 66
SWIDTH 500 0
DWIDTH 2 0
BBX 2 2 0 0
BITMAP
C0
40
ENDCHAR
ENDFONT
"""


@pytest.mark.thorough
def test_a_cluster_finds_the_same_designs(small: Path) -> None:
    distributed = importlib.import_module("distributed")
    size = {"n_workers": 1, "threads_per_worker": 1, "dashboard_address": None}
    with distributed.LocalCluster(**size) as cluster:
        found = run("linkages", small, "--cluster", cluster.scheduler_address)
    assert found.exit_code == 0
    assert found.stdout == run("linkages", small).stdout


@pytest.mark.thorough
def test_a_cluster_that_does_not_answer_is_told(small: Path) -> None:
    result = run("linkages", small, "--cluster", "tcp://127.0.0.1:1")
    assert result.exit_code == 2
    assert "no cluster answers at tcp://127.0.0.1:1" in result.stderr
