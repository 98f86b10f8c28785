"""The notation for texts to show."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seqc.fonts import TextError, glyph_names, text_of

words = st.text(min_size=2).filter(lambda word: not set(word) & set("{}"))
names = st.lists(st.one_of(st.characters(), words)).map(tuple)


@pytest.mark.parametrize(
    "text, expected",
    [
        ("", ()),
        ("012", ("0", "1", "2")),
        ("{wave}{buoy}", ("wave", "buoy")),
        ("a{wave}b", ("a", "wave", "b")),
        ("{{}}", ("{", "}")),
        ("{{wave}}", ("{", "w", "a", "v", "e", "}")),
        ("{x}", ("x",)),
        ("{two words}", ("two words",)),
        ("{wave}}}", ("wave", "}")),
    ],
)
def test_text_names_its_glyphs(text: str, expected: tuple[str, ...]) -> None:
    assert glyph_names(text) == expected


@pytest.mark.parametrize(
    "text, offset, message",
    [
        ("ab{wave", 2, "never closed"),
        ("{", 0, "never closed"),
        ("{a{b}", 0, "never closed"),
        ("ab}", 2, "closes nothing"),
        ("{{}", 2, "closes nothing"),
        ("a{}", 1, "no name"),
    ],
)
def test_lone_brace_is_refused_at_its_place(text: str, offset: int, message: str) -> None:
    with pytest.raises(TextError, match=message) as caught:
        glyph_names(text)
    assert caught.value.offset == offset


@given(names)
def test_any_names_survive_being_written_and_read(shown: tuple[str, ...]) -> None:
    assert glyph_names(text_of(shown)) == shown
