"""One run shows every mistake, in order of place, and none that only follows from another."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from malformed import BOARD, SAMPLES, Sample

from seqc.language import read_text
from seqc.machine.findings import Findings, Severity


def found_in(text: str) -> list[tuple[int, str]]:
    """Line and code of every error."""
    findings = Findings()
    read_text(text, "board.lanes", findings)
    return [(f.place.line, f.code) for f in findings if f.severity is Severity.ERROR]


def changed(**lines: str) -> str:
    """The board with some lines replaced: `line5="..."`."""
    text = BOARD.split("\n")
    for key, line in lines.items():
        text[int(key.removeprefix("line")) - 1] = line
    return "\n".join(text)


def test_mistakes_of_every_stage_in_one_run() -> None:
    text = changed(
        line2="item slate { tone = dark }",
        line5="lane g = shown <- swap <- drop <- pick(slate, chark)",
        line7="gate drop { per column coil small open 60 mm }",
        line9="path drop -> { falls in 300 ms }",
        line11="coil small { 12 V 8 ohm pulse 40 ms travel 18 ms life many }",
        line13="outputs bus { bits 10",
        line15="supply bench { 12 V limit 8 A",
        line17='programme p { show "0" on h every 1 s }',
    )
    assert found_in(text) == [
        (2, "unexpected-text"),
        (5, "unknown-name"),
        (7, "wrong-dimension"),
        (9, "unexpected-text"),
        (11, "missing-value"),
        (13, "unclosed-block"),
        (15, "unclosed-block"),
        (17, "unknown-name"),
    ]


def test_unclosed_block_ends_at_the_next_statement() -> None:
    text = changed(line6="selector pick { per row coil small", line12="relay card { operate 10 s")
    assert found_in(text) == [(6, "unclosed-block"), (12, "unclosed-block")]


def test_setting_in_the_first_column_is_no_statement() -> None:
    text = changed(line14="drive pick, drop, swap {\nchangeover pair\nrelay card\nfrom bus\n}")
    assert found_in(text) == []


def test_broken_name_of_a_statement_is_still_known() -> None:
    assert found_in(changed(line11="coil small 12 V 8 ohm")) == [(11, "unexpected-text")]
    assert found_in(changed(line11="coli small { 12 V }")) == [(11, "unknown-statement")]
    assert found_in(changed(line11="coil { 12 V }")) == [(11, "unexpected-text")]


@pytest.mark.quick(5)
@pytest.mark.parametrize("line", range(2, 18))
def test_statement_cut_short_anywhere_gives_one_error(line: int) -> None:
    whole = BOARD.split("\n")[line - 1]
    for end in range(1, len(whole)):
        found = found_in(changed(**{f"line{line}": whole[:end].rstrip()}))
        assert [at for at, _ in found].count(line) == 1, whole[:end]
        # A cut through a name leaves the whole name unknown; nothing else follows.
        assert {code for at, code in found if at != line} <= {"unknown-name"}, whole[:end]


def test_coil_that_is_wrong_hides_no_later_mistake() -> None:
    text = changed(line11="coil small { 12 V 8 ohm pulse 40 ms }", line13="outputs bus { bits 8 }")
    assert found_in(text) == [(11, "missing-setting"), (14, "too-few-outputs")]


def line_of(sample: Sample) -> int:
    return BOARD[: BOARD.index(sample.edits[0])].count("\n") + 1


def is_own_line(sample: Sample) -> bool:
    """Whether a sample changes one line, and what is wrong with it shows in that line alone."""
    local = sample.code in {
        *("unexpected-text", "unclosed-block", "unknown-character", "unknown-statement"),
        *("unknown-setting", "missing-setting", "missing-value", "missing-unit", "out-of-range"),
        *("wrong-dimension", "repeated-setting", "stray-value", "unknown-unit", "not-whole"),
    }
    return local and len(sample.edits) == 2 and "\n" not in "".join(sample.edits)


LOCAL = [sample for sample in SAMPLES if is_own_line(sample)]


@given(st.lists(st.sampled_from(LOCAL), min_size=2, max_size=6, unique_by=line_of))
def test_mistakes_in_several_lines_are_all_reported(samples: list[Sample]) -> None:
    text = BOARD
    for sample in samples:
        text = text.replace(sample.edits[0], sample.edits[1], 1)
    findings = Findings()
    read_text(text, "board.lanes", findings)
    found = [(f.place.line, f.place.column, f.message) for f in findings]
    wanted = sorted((sample.line, sample.column, sample.message) for sample in samples)
    assert [each for each in found if each in wanted] == wanted


def test_row_of_taken_outputs_is_told_once() -> None:
    text = changed(
        line13="outputs bus { bits 20 }",
        line14="drive pick, drop { changeover pair relay card from bus at 2 }\n"
        "drive swap { changeover pair relay card from bus at 4 }",
    )
    assert found_in(text) == [(15, "output-taken")]
