"""The clock's day: 86,400 frames over six numerals, against the calendar of the library."""

import datetime

from boards import grid_of

from seqc.machine.clock import DAY_S, Hand, clock_programme
from seqc.machine.glyphs import Font, Glyph, Programme


def faces(count: int) -> list[Font]:
    fonts = []
    for number in range(count):
        grid = grid_of(1, 1, name=f"clock_{number + 1}")
        glyphs = tuple(Glyph(digit, "harbour", grid.name, ("slate",)) for digit in "0123456789")
        fonts.append(Font("harbour", grid, glyphs))
    return fonts


def shown(programme: Programme) -> list[str]:
    """The digits of all frames."""
    return ["".join(glyph.name for glyph in frame) for frame in programme.frames]


def test_a_day_of_seconds_is_the_calendars() -> None:
    programme = clock_programme("day", faces(6))
    midnight = datetime.datetime(2000, 1, 1)
    for second, digits in enumerate(shown(programme)):
        moment = midnight + datetime.timedelta(seconds=second)
        assert digits == moment.strftime("%H%M%S")
    assert second == DAY_S - 1


def test_a_day_without_seconds_goes_by_minutes() -> None:
    digits = shown(clock_programme("day", faces(4), (Hand.HOURS, Hand.MINUTES)))
    assert len(digits) == 1_440
    assert digits[:2] == ["0000", "0001"]
    assert digits[-1] == "2359"


def test_every_numeral_has_its_own_grid_and_carries() -> None:
    programme = clock_programme("day", faces(6))
    assert len(programme.frames) == 86_400
    assert programme.every_us == 1_000_000
    assert programme.repeat
    assert programme.frames[59 * 60 + 59].name == "0 0 5 9 5 9"
    assert programme.frames[3_600].name == "0 1 0 0 0 0"
    assert [glyph.grid for glyph in programme.frames[0]] == [f"clock_{n}" for n in range(1, 7)]


def test_hours_and_minutes_step_once_a_minute() -> None:
    programme = clock_programme("day", faces(4), (Hand.HOURS, Hand.MINUTES))
    assert len(programme.frames) == 1_440
    assert programme.every_us == 60_000_000
