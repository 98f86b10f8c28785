"""Programmes that tell the time over several numerals."""

from __future__ import annotations

import functools
from collections.abc import Sequence
from enum import Enum

from seqc.machine.findings import NOWHERE, Place
from seqc.machine.glyphs import Font, Frame, Programme

DAY_S = 86_400
MILLION = 1_000_000


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


def clock_every_us(hands: Sequence[Hand]) -> int:
    """How often a clock changes: with its shortest hand."""
    return min(hand.value for hand in hands) * MILLION


def clock_texts(hands: Sequence[Hand], start_s: int = 0) -> tuple[str, ...]:
    """What each numeral shows over one day, two numerals a hand, tens before units.

    One character for each step of the shortest hand. `start_s` is the time of day of the first.
    """
    return _texts(tuple(hands), start_s)


@functools.lru_cache(maxsize=4)
def _texts(hands: tuple[Hand, ...], start_s: int) -> tuple[str, ...]:
    every_s = clock_every_us(hands) // MILLION
    moments = [(start_s + passed) % DAY_S for passed in range(0, DAY_S, every_s)]
    texts: list[str] = []
    for hand in hands:
        shown = [moment // hand.value % hand.steps for moment in moments]
        texts.append("".join(str(number // 10) for number in shown))
        texts.append("".join(str(number % 10) for number in shown))
    return tuple(texts)


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
    faces = [font.by_name for font in fonts]
    columns = zip(*clock_texts(hands), strict=True)
    frames = tuple(
        Frame(tuple(face[digit] for face, digit in zip(faces, digits, strict=True)))
        for digits in columns
    )
    return Programme(name, frames, clock_every_us(hands), repeat=True, place=place)
