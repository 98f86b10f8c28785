"""Copies of a grid, clocks and the return of items, as machine files declare them."""

import pathlib

import pytest
from clock_file import CLOCK, TEXT, changed, errors, machine_of

from seqc import fonts, language
from seqc.machine.findings import Findings


def test_copies_are_grids_of_their_own(tmp_path: pathlib.Path) -> None:
    machine = machine_of(TEXT, tmp_path)
    assert [grid.name for grid in machine.grids] == ["face_1", "face_2", "face_3", "face_4"]
    assert [font.name for font in machine.fonts] == ["plain_1", "plain_2", "plain_3", "plain_4"]
    names = [actuator.name for actuator in machine.actuators]
    assert names[:4] == [f"face_{number}.pick.r1" for number in (1, 2, 3, 4)]
    # Three parts of one actuator each, four times, two outputs an actuator.
    assert sorted(output for a in machine.actuators for output in a.outputs) == list(range(24))


def test_a_clock_is_a_programme_of_a_day(tmp_path: pathlib.Path) -> None:
    (programme,) = machine_of(TEXT, tmp_path).programmes
    assert (programme.name, programme.every_us) == ("day", 60_000_000)
    assert programme.repeat
    shown = [frame.name for frame in programme.frames]
    assert len(shown) == 1_440
    assert (shown[0], shown[599], shown[600]) == ("0 0 0 0", "0 9 5 9", "1 0 0 0")
    assert [glyph.grid for glyph in programme.frames[7]] == [f"face_{n}" for n in (1, 2, 3, 4)]


def test_a_clock_takes_several_grids_in_order(tmp_path: pathlib.Path) -> None:
    text = changed(CLOCK, "clock day { on face on left on right seconds minutes hours }")
    for name in ("left", "right"):
        text += (
            f"grid {name} {{ columns 1 rows 1 }}\n"
            f"lane {name} = shown <- swap <- drop <- pick(slate, chalk)\n"
            f'font of_{name} for {name} {{ mark "#" slate '
            + " ".join(f'glyph "{digit}" {{ |#| }}' for digit in range(10))
            + " }\n"
        )
    (programme,) = machine_of(text, tmp_path).programmes
    assert len(programme.frames) == 86_400
    grids = [glyph.grid for glyph in programme.frames[0]]
    assert grids == ["face_1", "face_2", "face_3", "face_4", "left", "right"]
    assert programme.frames[83_999].name == "2 3 1 9 5 9"


def test_a_text_is_dealt_out_over_the_copies(tmp_path: pathlib.Path) -> None:
    text = changed(CLOCK, 'programme berths { show "12340567" every 2 s }')
    (programme,) = machine_of(text, tmp_path).programmes
    assert [frame.name for frame in programme.frames] == ["1 2 3 4", "0 5 6 7"]


def test_the_return_of_items(tmp_path: pathlib.Path) -> None:
    machine = machine_of(
        changed("tone light stock 90", "tone light stock 90 recirculate 25 s"), tmp_path
    )
    assert [item.recirculate_us for item in machine.items] == [None, 25_000_000]


@pytest.mark.parametrize(
    "old,new,expected",
    [
        ("copies 4", "copies 1", "4:37 out-of-range"),
        ("copies 4", "copies 65", "4:37 out-of-range"),
        ("copies 4", "copies 3", "17:7 clock-numerals"),
        ("hours minutes on", "on", "17:7 no-hands"),
        ("minutes on face", "minutes", "17:7 missing-setting"),
        ("on face", "on fase", "17:30 unknown-name"),
        ("on face", "on face on face", "17:38 second-show"),
        ("clock day", "clock 9day", "17:7 unexpected-text"),
        ("hours minutes on", "hours years on", "17:19 unknown-setting"),
    ],
)
def test_what_is_wrong_with_copies_and_clocks(old: str, new: str, expected: str) -> None:
    assert errors(changed(old, new)) == [expected]


def test_a_name_that_a_copy_takes() -> None:
    text = TEXT + "grid face_2 { columns 1 rows 1 }\nlane face_2 = shown <- swap <- drop <- slate\n"
    assert "18:6 duplicate-name" in errors(text)


def test_copies_with_names_too_long() -> None:
    name = "f" * 39
    assert "4:6 bad-name" in errors(TEXT.replace("face", name))


def test_a_clock_needs_a_font() -> None:
    lines = TEXT.splitlines(keepends=True)
    without = "".join(line for line in lines if not line.startswith("font"))
    assert errors(without) == ["16:30 missing-font"]


def test_clocks_and_programmes_share_their_names() -> None:
    text = TEXT + 'programme day { show "1234" every 1 s }\n'
    assert errors(text) == ["18:11 duplicate-name"]


def test_a_text_that_does_not_go_round(tmp_path: pathlib.Path) -> None:
    text = changed(CLOCK, 'programme berths { show "12345" every 2 s }')
    path = tmp_path / "quay.lanes"
    path.write_text(text, encoding="utf-8")
    findings = Findings()
    declared = language.read(path, findings)
    assert declared
    fonts.dress(declared, findings)
    assert [finding.code for finding in findings] == ["shows-uneven"]


def test_copies_are_bounded_in_all() -> None:
    again = "grid other { columns 64 rows 64 copies 64 }\n"
    assert "18:6 too-many-cells" in errors(TEXT + again)
