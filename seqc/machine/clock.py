"""Programmes that tell the time over several numerals."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from typing import NamedTuple

from seqc.machine.findings import NOWHERE, Place
from seqc.machine.glyphs import Font, Programme, Rotation

DAY_S = 86_400
MILLION = 1_000_000
DIGITS = 10


class Hand(Enum):
    """What two numerals of a clock show; its value is how long one step lasts, in seconds."""

    HOURS = 3_600
    MINUTES = 60
    SECONDS = 1

    @property
    def word(self) -> str:
        """Its word in a machine file."""
        return self.name.lower()

    @property
    def steps(self) -> int:
        """After how many steps it begins again."""
        return 24 if self is Hand.HOURS else 60


class Numeral(NamedTuple):
    """The digits that a numeral shows from midnight on, the next one `every` steps of the clock."""

    digits: str
    every: int


def clock_every_us(hands: Sequence[Hand]) -> int:
    """How often a clock changes: with its shortest hand."""
    return min(hand.value for hand in hands) * MILLION


def clock_numerals(hands: Sequence[Hand]) -> tuple[Numeral, ...]:
    """The numerals of a clock, two a hand, tens before units; it steps with its shortest hand."""
    step_s = clock_every_us(hands) // MILLION
    return tuple(numeral for hand in hands for numeral in _numerals(hand, hand.value // step_s))


def _numerals(hand: Hand, every: int) -> tuple[Numeral, Numeral]:
    tens, rest = divmod(hand.steps, DIGITS)
    if not rest:
        return Numeral("0123456789"[:tens], every * DIGITS), Numeral("0123456789", every)
    numbers = range(hand.steps)
    return (
        Numeral("".join(str(number // DIGITS) for number in numbers), every),
        Numeral("".join(str(number % DIGITS) for number in numbers), every),
    )


def clock_programme(
    name: str,
    fonts: Sequence[Font],
    hands: Sequence[Hand] = (Hand.HOURS, Hand.MINUTES, Hand.SECONDS),
    place: Place = NOWHERE,
) -> Programme:
    """A whole day that repeats: the first font draws the first hand's tens, and so on.

    Every frame shows all numerals, also those that stay as they are. Raises KeyError when a font
    lacks a digit.
    """
    rotations = [
        Rotation(font.grid.name, tuple(font.by_name[digit] for digit in digits), every)
        for font, (digits, every) in zip(fonts, clock_numerals(hands), strict=True)
    ]
    every_us = clock_every_us(hands)
    return Programme.of_rotations(name, rotations, every_us, place, is_clock=True)
