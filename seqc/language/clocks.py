"""Clocks: programmes that tell the time of day over several numerals."""

from __future__ import annotations

import re

from seqc.language.copies import copy_names
from seqc.language.declared import FontSource, ProgrammeSource, ShowSource
from seqc.language.scope import Scope
from seqc.language.settings import Settings, read_settings
from seqc.language.source import Statement, Word
from seqc.machine.clock import Hand, clock_every_us, clock_numerals
from seqc.machine.findings import Findings
from seqc.machine.wording import listed

NUMERALS_PER_HAND = 2


def read_clock(statement: Statement, scope: Scope) -> ProgrammeSource | None:
    """The programme of a clock: a whole day on as many numerals as its hands need."""
    settings = read_settings(statement, scope.findings)
    hands = [hand for hand in Hand if settings.get(hand.word)]
    quiet = quiet_of(settings, scope.findings)
    words = _grids(settings, scope)
    if not settings.sound or words is None or not _agree(statement, hands, words, scope):
        return None
    shows: list[ShowSource] = []
    numerals = iter(clock_numerals(hands))
    for word in words:
        font = _font(word, scope)
        if font is None:
            return None
        fonts = copy_names(font.name, scope.copies, word.text)
        grids = copy_names(word.text, scope.copies, word.text)
        for grid, face in zip(grids, fonts, strict=True):
            digits, every = next(numerals)
            shows.append(ShowSource(digits, grid, face, word.place, every=every))
    name = statement.name
    every_us = clock_every_us(hands)
    return ProgrammeSource(
        name.text, tuple(shows), every_us, True, name.place, True, is_clock=True, quiet=quiet
    )


def _grids(settings: Settings, scope: Scope) -> list[Word] | None:
    """The grids in order; None if one of them is unknown, unsound or stands twice."""
    words = [word for setting in settings.all("on") for word in setting.values]
    named = [word for word in words if isinstance(word, Word)]
    known = [scope.grids.value(word) is not None for word in named]
    for rank, word in enumerate(named):
        if word.text in (before.text for before in named[:rank]):
            message = f"grid `{word.text}` is named twice in one clock"
            scope.findings.error("second-show", message, word.place, "leave one out")
            return None
    return named if all(known) else None


def quiet_of(settings: Settings, findings: Findings) -> tuple[int, int] | None:
    """From which minute of the day until which nothing moves; what can't be meant is reported."""
    setting = settings.get("quiet")
    if setting is None or len(setting.values) != 3:
        return None
    words = [word.text for word in setting.values if isinstance(word, Word)]
    start, joint, end = words
    minutes = [_minute(start), _minute(end)]
    message = hint = ""
    if joint != "to" or None in minutes:
        message = f"`quiet {' '.join(words)}` is no time of day"
        hint = "write `quiet 22:00 to 07:00`"
    elif minutes[0] == minutes[1]:
        message, hint = f"`quiet {' '.join(words)}` lasts no time", "give it two different times"
    elif settings.get(Hand.HOURS.word) is None:
        message, hint = "a clock without hours has no time to be quiet at", "add `hours`"
    if message:
        findings.error("bad-quiet", message, setting.place, hint)
        return None
    return minutes[0] or 0, minutes[1] or 0


def _minute(text: str) -> int | None:
    """The minute of the day of a time of day."""
    found = re.fullmatch("([01]?[0-9]|2[0-3]):([0-5][0-9])", text)
    return int(found[1]) * 60 + int(found[2]) if found else None


def _agree(statement: Statement, hands: list[Hand], words: list[Word], scope: Scope) -> bool:
    """Whether there are hands, and two numerals for each."""
    place = statement.name.place
    if not hands:
        message = f"clock `{statement.name.text}` tells neither hours, minutes nor seconds"
        hint = "write `hours minutes` or `hours minutes seconds`"
        scope.findings.error("no-hands", message, place, hint)
        return False
    numerals = sum(scope.copies.get(word.text, 1) for word in words)
    wanted = NUMERALS_PER_HAND * len(hands)
    if numerals != wanted:
        names = listed([hand.word for hand in hands], "and")
        message = (
            f"clock `{statement.name.text}` needs {wanted} numerals, two for {names}"
            f"{' each' if hands[1:] else ''}, and has {numerals}"
        )
        hint = f"write `copies {wanted}` in its grid, or `on` and a name for each of {wanted} grids"
        scope.findings.error("clock-numerals", message, place, hint)
    return numerals == wanted


def _font(word: Word, scope: Scope) -> FontSource | None:
    """The first font for a grid."""
    fonts = [font for font in scope.fonts.values() if font.grid.name == word.text]
    unsound = any(entry.value is None for entry in scope.fonts)
    if not fonts and not unsound and scope.fonts.whole:
        message = f"no font is declared for grid `{word.text}`"
        hint = f"add `font NAME for {word.text} {{ ... }}`"
        scope.findings.error("missing-font", message, word.place, hint)
    return fonts[0] if fonts else None
