"""What commands print of a plan, a check and a replay."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from boards import CELL, ROW, board, glyph, grid_of

import seqc
from seqc.machine.glyphs import Frame, Programme
from seqc.machine.model import Machine
from seqc.machine.steptable import StepTable, TableSet, TablesFor
from seqc.report.check_text import summary_lines
from seqc.report.plan_text import plan_lines
from seqc.report.replay_text import Showing, replay_lines
from seqc.simulator import Fault, FaultKind, Replay, Seen


def planned(machine: Machine, *frames: Frame) -> seqc.Planned:
    return seqc.plan(machine, Programme("all", frames, 2_000_000))


def plan_text(machine: Machine, *frames: Frame) -> Sequence[str]:
    found = planned(machine, *frames)
    return list(plan_lines(machine, found.programme, found.plan, found.timing))


def test_each_of_several_grids_is_named_beside_its_picture() -> None:
    tens, ones = grid_of(1, 2, name="tens"), grid_of(1, 2, name="ones")
    machine = board([tens, ones])
    lines = plan_text(machine, Frame((glyph(tens, "01"), glyph(ones, "11"))))
    assert lines.index("  tens") < lines.index("  ones")
    assert "  tens" not in plan_text(board([tens]), Frame((glyph(tens, "01"),)))


def test_what_there_is_one_of_is_said_in_the_singular() -> None:
    grid = grid_of(1, 1)
    machine = board([grid], selectors=(ROW,), gates={"drop": CELL})
    found = planned(machine, Frame((glyph(grid, "0"),)))
    text = " ".join(
        [
            *summary_lines(machine, [(found.programme, found.timing)], {}),
            *plan_text(machine, Frame((glyph(grid, "0"),))),
        ]
    )
    assert "1 column by 1 row, 1 cell: " in text
    assert "1 pass at most" in " ".join(text.split())
    assert '"x"   1 pass   2 pulses' in text
    assert "1 frame; cadence" in text
    assert ", 2 pulses" in text


def test_names_in_the_tables_of_a_stranger_cannot_steer_the_screen() -> None:
    grid = grid_of(1, 1)
    seen = Seen("load \x1b[2J\u202e", 0, 1_000, {"numeral": ("slate",)})
    fault = Fault(FaultKind.WRONG_KIND, 500, "load \x1b[2J\r", "\x07")
    replay = Replay((fault,), (seen,), {}, {}, {}, unchecked=("load \x9b2J",))
    lines = list(replay_lines(board([grid]), Showing(replay, (seen,), (seen,))))
    assert all(line.isprintable() for line in lines)
    assert "test_board: 1 fault in 1 table (1 ms, 0 pulses)" in lines


def test_a_kind_that_is_not_known_is_drawn_as_such() -> None:
    grid = grid_of(1, 3)
    seen = Seen("load", 0, 1_000, {"numeral": ("slate", "?", None)})
    replay = Replay((), (seen,), {}, {}, {})
    lines = list(replay_lines(board([grid]), Showing(replay, (), (seen,))))
    assert "s ? ?" in lines


def round_of(pictures: str, repeat_from: int | None, again: str = "") -> tuple[TableSet, Replay]:
    """A programme of one cell that shows a letter a tick, and what its replay saw."""
    ticks = [StepTable(f"tick {n}", (), 5, (("numeral", p),)) for n, p in enumerate(pictures, 1)]
    empty = [StepTable(name, (), 5) for name in ("home", "clear", "load")]
    tables = TableSet(
        "board",
        TablesFor.PROGRAMME,
        1,
        0,
        0,
        empty[0],
        (empty[2], *ticks),
        repeat_from,
        0,
        empty[1],
    )
    names = [*empty, *ticks, *ticks[len(ticks) - len(again) :]]
    shown = ("?", "?", "?", *pictures, *again)
    seen = (
        Seen(one.name, 1_000 * n, 1_000 * (n + 1), {"numeral": (kind,)})
        for n, (one, kind) in enumerate(zip(names, shown, strict=True))
    )
    return tables, Replay((), tuple(seen), {}, {}, {"slate": 2, "chalk": 1})


@pytest.mark.parametrize(
    ("pictures", "repeat_from", "again", "words", "drawn"),
    [
        ("abc", None, "", "3 frames below", "abc"),
        ("abc", 1, "abc", "round 1 below; round 2 the same", "abc"),
        ("abca", 2, "bca", "round 1 below; round 2 the same", "abca"),
        ("abc", 1, "abd", "6 frames below", "abcabd"),
    ],
)
def test_a_second_round_is_drawn_only_where_it_differs(
    pictures: str, repeat_from: int | None, again: str, words: str, drawn: str
) -> None:
    tables, replay = round_of(pictures, repeat_from, again)
    showing = Showing.of(tables, replay)
    assert [seen.table for seen in showing.start] == ["home", "clear", "load"]
    assert "".join(str(seen.pictures["numeral"][0]) for seen in showing.frames) == drawn
    lines = list(replay_lines(board([grid_of(1, 1)]), showing))
    assert lines[1:4] == [
        "  start   home 1 ms, clear 1 ms, load 1 ms",
        "  used    2 slate, 1 chalk",
        f"  seen    {words}",
    ]


def test_a_long_programme_is_drawn_in_parts() -> None:
    tables, replay = round_of("a" * 30, 1, "a" * 30)
    showing = Showing.of(tables, replay)
    machine = board([grid_of(1, 1)])
    lines = list(replay_lines(machine, showing))
    told = "frames 1 to 20 of 30 below; more with --from 21; round 2 the same"
    assert f"  seen    {told}" in lines
    assert " ".join(lines).count("tick ") == 20
    lines = list(replay_lines(machine, showing, 29, 9))
    assert "  seen    frames 29 to 30 of 30 below; round 2 the same" in lines
    assert "tick 29" in "\n".join(lines)
    assert "tick 28" not in "\n".join(lines)


def test_a_missed_cadence_is_told_with_the_one_that_can_be_kept() -> None:
    grid = grid_of(1, 2)
    machine = board([grid])
    frames = (Frame((glyph(grid, "01"),)), Frame((glyph(grid, "10"),)))
    found = seqc.plan(machine, Programme("all", frames, 100_000))
    assert not found.timing.kept
    lines = summary_lines(machine, [(found.programme, found.timing)], {})
    text = " ".join(" ".join(lines).split())
    shortest = -(-found.timing.period_us // 1000)
    assert f"cadence 100 ms not kept; the shortest that is: {shortest} ms (proven)" in text
