"""Fonts, programmes, clocks, and what is played together."""

from __future__ import annotations

from seqc.language.limits import MAX_CELLS
from seqc.language.quantities import TIME
from seqc.language.schema import (
    Entry,
    Plain,
    Schema,
    choice,
    continuing,
    count,
    measure,
    name,
    repeatable,
)
from seqc.language.tables.common import DAY
from seqc.machine.clock import Hand

_STANDS = "The picture: where a glyph that is smaller than its grid stands."
_ALIGN = {
    "align left": "A narrow glyph stands at the left.",
    "align centre": "A narrow glyph stands in the middle.",
    "align right": "A narrow glyph stands at the right.",
}
_SEAT = {
    "seat top": "A low glyph sits at the top.",
    "seat middle": "A low glyph sits in the middle.",
    "seat baseline": "A low glyph sits on the baseline, and reaches below it as far as it is "
    "drawn there.",
}
_HANDS = {
    Hand.HOURS: "Two numerals for the hours, 00 to 23.",
    Hand.MINUTES: "Two numerals for the minutes.",
    Hand.SECONDS: "Two numerals for the seconds.",
}

PICTURES = {
    "font": Schema(
        (
            Entry(
                "mark", (Plain.TEXT, Plain.NAME), "mark", 'mark "#" slate', True, refers=("item",)
            ).told(
                "Which item a character of the drawn glyphs stands for.",
                "The picture.",
                "needed for drawn glyphs",
            ),
            Entry("glyph", (Plain.TEXT, Plain.ART), "glyph", 'glyph "0" { |#.| |.#| }', True).told(
                "A glyph under its character or its longer name, drawn in marks.",
                "The picture.",
                "those of the font's file",
            ),
            name("ink", "slate", "item").told(
                "The item of the dark dots of a font file.",
                "The picture; how much of each stock is used.",
                "needed for a file",
                beside="paper chalk",
            ),
            name("paper", "chalk", "item").told(
                "The item of the light dots of a font file.",
                "The picture; how much of each stock is used.",
                "needed for a file",
                beside="ink slate",
            ),
            *(
                choice("align", phrase).told(means, _STANDS, "align centre")
                for phrase, means in _ALIGN.items()
            ),
            *(
                choice("seat", phrase).told(means, _STANDS, "seat middle")
                for phrase, means in _SEAT.items()
            ),
            count("baseline row", 1, MAX_CELLS, "2").told(
                "The row that letters stand on.",
                _STANDS,
                "the last row",
                beside="seat baseline",
            ),
        ),
    ),
    "programme": Schema(
        (
            Entry("show", (Plain.TEXT,), "show", 'show "0123"', repeatable=True).told(
                "A text, a glyph a frame; `{name}` is a glyph with a longer name. Each grid may "
                "have its own, and they run in step.",
                "Everything: what is planned, timed and built.",
            ),
            continuing(repeatable(name("on", "numeral", "grid"))).told(
                "The grid that shows the text.",
                "The picture.",
                "the only grid",
                beside='show "0123"',
            ),
            continuing(repeatable(name("in", "harbour", "font"))).told(
                "The font that draws the text.",
                "The picture.",
                "the first font for the grid",
                beside='show "0123"',
            ),
            measure("every", TIME, 1_000, DAY, example="1 s").told(
                "The cadence: the time from one frame to the next.",
                "Check: whether it is kept. Forecast: wear, heat and stock in a time.",
            ),
            choice("repeat", "repeat").told(
                "The first frame follows the last.",
                "Plan: the change from the last to the first counts too.",
                "it ends with its last frame",
            ),
        ),
        required=("show", "every"),
    ),
    "clock": Schema(
        (
            *(
                continuing(choice(hand.word, hand.word)).told(
                    _HANDS.get(hand, ""),
                    "How many numerals are needed, and the cadence: that of the quickest hand.",
                    "not shown",
                )
                for hand in Hand
            ),
            repeatable(name("on", "numeral", "grid")).told(
                "The numerals in order, tens before units: a grid with `copies`, or several.",
                "The picture.",
            ),
            Entry("quiet", (Plain.WORD,) * 3, "quiet", "quiet 22:00 to 07:00").told(
                "Every day what changes more often than once a minute stands still, from one time "
                "of day to another: the seconds, and what is played together with the clock.",
                "Forecast: wear and stock.",
                "never",
                beside="hours",
            ),
        ),
        required=("on",),
    ),
    "together": Schema(
        (
            repeatable(name("plays", "day", "programme", "clock")).told(
                "A programme that repeats, or a clock. Every cadence is a whole multiple of the "
                "shortest.",
                "The picture. Plan: the grids move independently of each other.",
            ),
        ),
        required=("plays",),
    ),
}
