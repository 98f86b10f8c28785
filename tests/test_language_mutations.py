"""Whatever is done to a good file, reading it ends in findings or in a machine."""

from __future__ import annotations

import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from malformed import BOARD
from test_language_constructs import BERTH, RICH

from seqc.language import read_text
from seqc.language.rendering import render
from seqc.machine.findings import Findings

TOKEN = re.compile(r"\s+|\w+|\"[^\"\n]*\"|\|[^|\n]*\||<-|->|.", re.DOTALL)
FEW_FILES, MUTATED_FILES = 150, 2_000

FILES = [TOKEN.findall(text) for text in (BOARD, BERTH, RICH)]
SIGNS = [*'{}(),="|#\n\0éµ', "<-", "->", "\x1b[2J", "\u202e"]
WORDS = ["-1", "1e999", "0", "9" * 400, "99999 h", "shown", "include", '"../x"', "map", "item"]
ODD = st.sampled_from([*SIGNS, *WORDS])
STROKE = st.sampled_from(["delete", "double", "swap", "insert", "replace", "cut", "letter"])


@st.composite
def mutated(draw: st.DrawFn) -> str:
    """A good file with a few of its tokens or letters deleted, doubled, swapped or replaced."""
    tokens = list(draw(st.sampled_from(FILES)))
    for _ in range(draw(st.integers(1, 6))):
        at = draw(st.integers(0, len(tokens) - 1))
        other = draw(st.integers(0, len(tokens) - 1))
        match draw(STROKE):
            case "delete":
                del tokens[at : at + draw(st.integers(1, 8))]
            case "double":
                tokens.insert(at, tokens[at])
            case "swap":
                tokens[at], tokens[other] = tokens[other], tokens[at]
            case "insert":
                tokens.insert(at, draw(ODD))
            case "replace":
                tokens[at] = draw(ODD | st.just(tokens[other]))
            case "cut":
                del tokens[max(at, 1) :]
            case "letter":
                tokens[at] = tokens[at][:-1] + draw(st.characters(codec="utf-8"))
        tokens = tokens or ["x"]
    return "".join(tokens)


def assert_ends_well(text: str) -> None:
    findings = Findings()
    declared = read_text(text, "mutated.lanes", findings)
    assert declared is not None or findings.has_errors
    lines = text.split("\n")
    for finding in findings:
        assert 1 <= finding.place.line <= len(lines)
        assert 1 <= finding.place.column <= len(lines[finding.place.line - 1]) + 1
        assert all(line.isprintable() for line in render(finding, lambda _: lines).split("\n"))


@pytest.mark.parametrize(
    "count", [FEW_FILES, pytest.param(MUTATED_FILES, marks=pytest.mark.thorough)]
)
def test_mutated_files_end_in_findings_or_a_machine(count: int) -> None:
    @settings(max_examples=count, deadline=None, suppress_health_check=list(HealthCheck))
    @given(mutated())
    def mutate(text: str) -> None:
        assert_ends_well(text)

    mutate()


@settings(deadline=None)
@given(st.text(max_size=300))
def test_any_text_ends_in_findings(text: str) -> None:
    assert_ends_well(text)


def test_deep_nesting_ends_well() -> None:
    deep = "pick(" * 10_000 + "slate" + ", chalk)" * 10_000
    assert_ends_well(BOARD.replace("pick(slate, chalk)", deep))
    assert_ends_well(BOARD.replace("pick(slate, chalk)", "(" * 50_000))
    assert_ends_well("grid g " + "{" * 50_000)


@pytest.mark.thorough
def test_many_mistakes_end_well() -> None:
    assert_ends_well("item\n" * 3_000)
    assert_ends_well('item a { tone "' + '\\"' * 200_000)
    assert_ends_well("item a { " + 'x "y" ' * 20_000 + "}")
    assert_ends_well("lane g = shown <- " + "drop <- " * 20_000 + "slate")
