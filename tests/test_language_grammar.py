"""The parser's table is that of the grammar, and a table of anything else isn't used."""

from __future__ import annotations

import pickle
from collections.abc import Iterator
from pathlib import Path

import pytest
from malformed import BOARD, SAMPLES

from seqc.language import grammar, read_text
from seqc.language.grammar import TABLE, table_of_grammar
from seqc.machine.findings import Findings


@pytest.fixture(autouse=True)
def _fresh() -> Iterator[None]:
    grammar.parser.cache_clear()
    yield
    grammar.parser.cache_clear()


def read_all() -> list[str]:
    """All that is said of the board, whole and in every malformed form."""
    said = []
    for text in (BOARD, *(sample.text for sample in SAMPLES)):
        findings = Findings()
        read_text(text, "board.lanes", findings)
        said.append("\n".join(map(str, findings)))
    return said


def test_the_table_is_that_of_the_grammar(request: pytest.FixtureRequest) -> None:
    made = table_of_grammar()
    if request.config.getoption("--update-golden"):
        TABLE.write_bytes(made)
    kept = pickle.loads(TABLE.read_bytes())
    assert kept["made_of"] == pickle.loads(made)["made_of"], "run this test with --update-golden"


@pytest.mark.thorough
def test_table_and_grammar_read_alike(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    by_table = read_all()
    grammar.parser.cache_clear()
    monkeypatch.setattr(grammar, "TABLE", tmp_path / "none")
    assert read_all() == by_table


def test_a_table_of_another_grammar_is_not_used(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    other = tmp_path / "machine.lark"
    other.write_text(grammar.GRAMMAR.read_text("utf-8").replace("/coil", "/spool"), "utf-8")
    monkeypatch.setattr(grammar, "GRAMMAR", other)
    assert grammar.parser().parse("spool small {}").children
