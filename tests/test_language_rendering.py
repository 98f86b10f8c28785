"""A finding is shown with its line, and nothing in a source can disturb the screen."""

from __future__ import annotations

import pathlib

from hypothesis import given
from hypothesis import strategies as st

from seqc.language.rendering import file_lines, render
from seqc.machine.findings import Finding, Place, Related, Severity


def error(place: Place, message: str = "wrong", *related: Related, hint: str = "") -> Finding:
    return Finding(Severity.ERROR, "some-code", message, place, hint, related)


def test_whole_form() -> None:
    lines = {"a.lanes": ["item slate", "item chalk"], "b.lanes": ["include"]}
    related = Related(Place("b.lanes", 1, 1, 7), "included here")
    finding = error(Place("a.lanes", 2, 6, 5), "no `chalk`", related, hint="take slate")
    assert render(finding, lines.__getitem__) == "\n".join(
        [
            "a.lanes:2:6: error: no `chalk`",
            "  2 | item chalk",
            "    |      ^^^^^",
            "  hint: take slate",
            "  b.lanes:1:1: included here",
            "  1 | include",
            "    | ^^^^^^^",
        ]
    )


def test_warning_says_so() -> None:
    finding = Finding(Severity.WARNING, "some-code", "odd", Place("a", 1, 1))
    assert render(finding, lambda _: []) == "a:1:1: warning: odd"


def test_place_behind_the_end_of_a_line_is_marked() -> None:
    shown = render(error(Place("a", 1, 5)), lambda _: ["item"])
    assert shown.split("\n")[1:] == ["  1 | item", "    |     ^"]


def test_place_outside_of_the_file_shows_no_line() -> None:
    for line in (0, 2):
        assert render(error(Place("a", line, 1)), lambda _: ["item"]).count("\n") == 0


def test_long_line_is_cut_around_the_place() -> None:
    line = "x" * 5_000 + "HERE" + "y" * 5_000
    _, excerpt, marks = render(error(Place("a", 1, 5_001, 4)), lambda _: [line]).split("\n")
    assert len(excerpt) < 120
    assert excerpt[marks.index("^") : marks.rindex("^") + 1] == "HERE"
    assert excerpt.startswith("  1 | ...xxx")
    assert excerpt.endswith("yyy...")
    _, whole, _ = render(error(Place("a", 1, 1, 4)), lambda _: ["HERE" + "y" * 70]).split("\n")
    assert "..." not in whole


def test_tabs_keep_the_columns() -> None:
    _, excerpt, marks = render(error(Place("a", 1, 3, 4)), lambda _: ["\t\titem"]).split("\n")
    assert excerpt[marks.index("^") : marks.rindex("^") + 1] == "item"


def test_many_related_places_are_counted() -> None:
    related = [Related(Place("a", 1, 1), f"number {n}") for n in range(20)]
    shown = render(error(Place("a", 1, 1), "wrong", *related), lambda _: [])
    assert shown.endswith("  and 12 places more")


@given(st.text(), st.text(), st.text(), st.integers(1, 50), st.integers(1, 200))
def test_nothing_moves_the_cursor(
    line: str, message: str, file: str, column: int, length: int
) -> None:
    finding = error(Place(file, 1, column, length), message, hint=message)
    shown = render(finding, lambda _: [line])
    assert all(part.isprintable() for part in shown.split("\n"))
    assert len(shown.split("\n")) == 3 + bool(message)


def test_lines_of_a_file(tmp_path: pathlib.Path) -> None:
    path = tmp_path / "a.lanes"
    path.write_bytes("\ufeffone\r\ntwo\n".encode() + b"\xff")
    assert file_lines(str(path)) == ["one\r", "two", "\ufffd"]
    assert file_lines(str(tmp_path)) == ()
    assert file_lines(str(tmp_path / "none")) == ()
    assert file_lines("\0") == ()
