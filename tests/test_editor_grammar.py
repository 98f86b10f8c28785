"""The grammar for highlighting is the one that the tables give, and marks what they hold."""

from __future__ import annotations

import json
import re
from importlib.resources import files
from pathlib import Path

import pytest

from seqc.editor.textmate import grammar, grammar_text
from seqc.language.forms import FORMS
from seqc.language.quantities import DIMENSIONS
from seqc.language.tables import SCHEMAS

FILE = Path(__file__).parent.parent / "seqc/editor/lanes.tmLanguage.json"
RULES = grammar()["repository"]


def marked(rule: str, text: str) -> list[str]:
    """What a rule marks in a text."""
    return [match[0] for match in re.finditer(RULES[rule]["match"], text)]


def test_the_file_is_the_one_that_the_tables_give(request: pytest.FixtureRequest) -> None:
    if request.config.getoption("--update-golden"):
        FILE.write_text(grammar_text(), "utf-8")
    assert FILE.read_text("utf-8") == grammar_text(), "write it with --update-golden"
    assert json.loads(grammar_text())["scopeName"] == "source.lanes"


@pytest.mark.parametrize("keyword", FORMS)
def test_every_keyword_is_marked_at_the_beginning_of_a_line_alone(keyword: str) -> None:
    assert marked("statement", f"{keyword} small {{")[0].startswith(keyword)
    assert marked("statement", f"x {keyword} y") == []


def test_every_phrase_and_every_unit_is_marked_whole() -> None:
    for schema in SCHEMAS.values():
        for phrase in schema.by_phrase:
            assert marked("setting", f"{{ {phrase} 3 }}") == [phrase]
    for dimension in DIMENSIONS:
        assert marked("quantity", f" {dimension.example} ") == [dimension.example]
        for unit in dimension.units:
            assert marked("quantity", f"5 {unit} ") == [f"5 {unit}"]


def test_the_words_of_an_example_are_marked_once() -> None:
    text = (files("seqc.examples") / "berth_board.lanes").read_text("utf-8")
    assert len(marked("row", text)) == 60
    assert marked("text", 'mark "#" slate') == ['"#"']
    assert marked("comment", 'glyph "0" # zero') == ["# zero"]
    assert marked("sign", "shown <- swap") == ["<-"]
