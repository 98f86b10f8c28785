"""`seqc check` warns of electrics and clearance, and still ends well."""

from pathlib import Path

import pytest
from click.testing import CliRunner
from examples_on_disk import machine_file

from seqc.cli.main import main


@pytest.mark.parametrize("command", ["check", "plan", "build", "forecast"])
def test_a_plain_diode_across_a_reversed_coil_is_refused(command: str, tmp_path: Path) -> None:
    path = machine_file("berth_board", tmp_path)
    parts = tmp_path / "harbour_parts.lanes"
    text = parts.read_text("utf-8")
    parts.write_text(text.replace("life 2000000", "life 2000000  plain diode"), "utf-8")
    out = tmp_path / "out"
    more = ("--out", str(out)) if command == "build" else ()
    result = CliRunner().invoke(main, [command, str(path), *more])
    assert result.exit_code == 1
    assert "harbour_parts.lanes:6:6: error: a plain diode across coil small" in result.stderr
    assert "fit a bidirectional suppressor or varistor instead" in result.stderr
    assert not out.exists()


def test_check_warns_of_a_lane_too_near_to_a_magnet(tmp_path: Path) -> None:
    path = machine_file("berth_board", tmp_path)
    text = path.read_text("utf-8")
    text = text.replace("rows 6 }", "rows 6  lanes at 0 mm 0 mm  lane pitch 20 mm 20 mm }")
    text = text.replace("settle 8 ms }", "settle 8 ms  magnets at -12 mm 0 mm }").replace(
        "diameter 8 mm", "diameter 8 mm  steel"
    )
    path.write_text(text, "utf-8")
    parts = tmp_path / "harbour_parts.lanes"
    small = parts.read_text("utf-8").replace("life 2000000", "life 2000000  magnet clearance 20 mm")
    parts.write_text(small, "utf-8")
    result = CliRunner().invoke(main, ["check", str(path)])
    assert result.exit_code == 0
    assert "at 12.0 mm, 8.0 mm nearer than the magnet clearance of 20 mm" in result.stderr


def test_check_and_wiring_list_say_alike_what_may_be_touched(tmp_path: Path) -> None:
    path = machine_file("berth_board", tmp_path)
    for file in (path, tmp_path / "harbour_parts.lanes"):
        text = file.read_text("utf-8").replace(" 12 V", " 48 V")
        file.write_text(text.replace("15 ohm", "150 ohm").replace("8.2 ohm", "82 ohm"), "utf-8")
    checked = CliRunner().invoke(main, ["check", str(path)])
    assert checked.exit_code == 0, checked.output
    words = ("build", str(path), "--target", "wiring", "--out", str(tmp_path / "out"))
    built = CliRunner().invoke(main, words)
    assert built.exit_code == 0, built.output
    # IEC 60364-4-41 (from memory).
    limits = "60 V d.c., and 30 V d.c. where it may be wet, from an isolating source (SELV or PELV"
    assert limits in checked.stderr
    assert limits in (tmp_path / "out" / "wiring" / "seqc_wiring.md").read_text("utf-8")


@pytest.mark.parametrize("command", ["check", "plan", "forecast", "simulate"])
def test_a_supply_that_cannot_feed_a_coil_falls_short(command: str, tmp_path: Path) -> None:
    path = machine_file("berth_board", tmp_path)
    text = path.read_text("utf-8").replace("limit 4 A", "limit 1.2 A")
    path.write_text(text, "utf-8")
    result = CliRunner().invoke(main, [command, str(path)])
    assert result.exit_code == 1
    # 12 V over 8.2 ohm; 1.2 A less a margin of 20 % leaves 1 A.
    message = "error: supply bench is asked for 1.46 A, 0.463 A more than the 1 A that its limit"
    assert result.stderr.count(message) == 1
