"""What `seqc check` says of glyphs out of reach, and that its repair can be pasted."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from random import Random

import pytest
from click.testing import CliRunner, Result
from examples_on_disk import machine_file

from seqc.cli.main import main


def run(*words: object) -> Result:
    result = CliRunner().invoke(main, [str(word) for word in words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def changed(path: Path, *pairs: tuple[str, str]) -> Path:
    text = path.read_text("utf-8")
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    path.write_text(text, "utf-8")
    return path


@pytest.fixture
def berth(tmp_path: Path) -> Path:
    """The berth board with one gate for the whole grid, which can show none of its numerals."""
    return changed(
        machine_file("berth_board", tmp_path), ("drop { per column", "drop { whole grid")
    )


def test_the_cause_the_repair_and_the_nearest_pictures_are_printed(berth: Path) -> None:
    result = run("check", berth)
    assert result.exit_code == 1
    assert "10 glyphs ('0', '1'," in result.stderr
    assert "drop (whole grid) and pick (per row) move cells together" in result.stderr
    assert "programme `count` can't show 10 of its 10 glyphs" in result.stderr
    lines = result.stdout.split("\n")
    assert "grid numeral: 10 of 10 glyphs out of reach" in lines
    assert "  repair by splitting, 3 actuators and 6 outputs more (proven fewest):" in lines
    assert "  '1': 7 cells wrong (proven fewest)" in lines
    at = lines.index("  '1': 7 cells wrong (proven fewest)")
    assert lines[at + 2] == "     . # # .   (#) #  # (#)"
    assert "  and 5 glyphs more" in lines[at:]


def test_the_repair_as_it_is_pasted_makes_the_font_reachable(berth: Path) -> None:
    document = json.loads(run("check", berth, "--json").stdout)
    (grid,) = document["out_of_reach"]
    (link,) = grid["repair"]["links"]
    assert (link["part"], link["linkage"]) == ("drop", "per column")
    repaired = changed(berth, ("drop { whole grid", f"drop {{ {link['linkage']}"))
    assert run("check", repaired).exit_code == 0


def test_a_letter_map_as_it_is_pasted_makes_the_font_reachable(tmp_path: Path) -> None:
    path = changed(
        machine_file("berth_board", tmp_path),
        ("pick { per row", "pick { whole grid"),
        ("bits 24", "bits 64"),
    )
    document = json.loads(run("check", path, "--json").stdout)
    (grid,) = document["out_of_reach"]
    repair = grid["repair"]
    assert repair["proven"]
    assert repair["added"] == repair["lower_bound_added"] > 0
    for link in repair["links"]:
        old = {"pick": "pick { whole grid", "drop": "drop { per column"}[link["part"]]
        drawn = "map {\n" + "\n".join(f"|{row}|" for row in link["map"]) + "\n}"
        changed(path, (old, f"{link['part']} {{ {drawn}"))
    after = json.loads(run("check", path, "--json").stdout)
    assert after["out_of_reach"] == []
    assert len(after["actuators"]) == len(document["actuators"]) + repair["added"]


def test_the_document_has_every_glyph(berth: Path) -> None:
    (grid,) = json.loads(run("check", berth, "--json").stdout)["out_of_reach"]
    assert grid["beyond"] == list("0123456789")
    assert [near["glyph"] for near in grid["nearest"]] == grid["beyond"]
    assert all(len(near["wrong"]) == near["lower_bound_wrong"] > 0 for near in grid["nearest"])
    (cause,) = grid["causes"]
    assert cause["parts"] == ["drop", "pick"]
    assert len(cause["conflicts"]) == 6
    assert cause["proof"]["cells"] == [[1, 1], [1, 2]]
    assert cause["proof"]["kinds"] == ["chalk", "slate"]
    assert grid["regrouping"]["lower_bound_moves"] > 0


def test_a_machine_within_reach_has_nothing_to_repair(tmp_path: Path) -> None:
    path = machine_file("berth_board", tmp_path)
    assert json.loads(run("check", path, "--json").stdout)["out_of_reach"] == []
    assert "out of reach" not in run("check", path).stdout


CALLS = [
    "plan",
    "plan --show 7",
    "plan --whole-font harbour",
    "build --out built",
    "build --out built --tables-for glyph",
]


@pytest.mark.parametrize("call", CALLS)
def test_every_command_advises_the_same_repair(call: str, tmp_path: Path) -> None:
    path = changed(machine_file("berth_board", tmp_path), ("pick { per row", "pick { per column"))
    command, *options = call.replace("built", str(tmp_path / "built")).split()
    assert hints(run(command, path, *options)) == hints(run("check", path)) != []


def hints(result: Result) -> list[str]:
    """The repairs that a command advises, each once."""
    assert result.exit_code == 1
    return sorted({line for line in result.stderr.split("\n") if "split " in line})


def test_a_large_font_prints_no_more_than_a_small_one(berth: Path) -> None:
    random = Random(1)
    glyphs = "\n".join(_drawn(f"g{number}", random) for number in range(300))
    result = run("check", changed(berth, ('glyph "0" {', f'{glyphs}\nglyph "0" {{')))
    assert result.exit_code == 1
    assert "310 of 310 glyphs out of reach" in result.stdout
    assert len(result.output.split("\n")) < 93


def _drawn(name: str, random: Random) -> str:
    rows: Sequence[str] = ["#...", *("".join(random.choices("#.", k=4)) for _ in range(5))]
    return f'glyph "{name}" {{\n' + "\n".join(f"|{row}|" for row in rows) + "\n}"


def test_a_cell_to_move_is_named(tmp_path: Path) -> None:
    maps = "map { |aaab| |aabb| |aabb| |aabb| |aabb| |aabb| }"
    path = changed(
        machine_file("berth_board", tmp_path),
        ("drop { per column", f"drop {{ {maps}"),
        ('show "0123456789"', 'show "o"'),
    )
    text = path.read_text("utf-8")
    first, last = text.index('    glyph "0"'), text.index("programme count")
    drawn = '    glyph "o" { |##..| |##..| |##..| |##..| |##..| |##..| }\n}\n\n'
    path.write_text(text[:first] + drawn + text[last:], "utf-8")
    result = run("check", path)
    assert result.exit_code == 1
    assert "  or by moving 1 cell (proven fewest):" in result.stdout
    assert "    move row 1 column 3 from drop.a to drop.b" in result.stdout
    (grid,) = json.loads(run("check", path, "--json").stdout)["out_of_reach"]
    (link,) = grid["regrouping"]["links"]
    assert link["map"] == ["aabb"] * 6
    rows = " ".join(f"|{row}|" for row in link["map"])
    assert run("check", changed(path, (maps, f"map {{ {rows} }}"))).exit_code == 0
