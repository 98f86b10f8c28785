"""Sets of tracks made by hand, so that no scheduler is needed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from firmware.handmade import SLACK_US
from seqc.machine.model import Machine
from seqc.machine.steptable import Step, StepTable
from seqc.machine.tracks import GridTables, Move, Quiet, Track, TrackSet

Pulse = tuple[int, int, int]
"""An output of a grid, and from when until when it is active, in microseconds."""


def pulses(name: str, made: Iterable[Pulse], length_us: int) -> StepTable:
    """A table of pulses, in the outputs of a grid."""
    toggles: dict[int, int] = {0: 0}
    for output, start, end in made:
        for at in (start, end):
            toggles[at] = toggles.get(at, 0) ^ 1 << output
    word = 0
    steps = []
    for at, mask in sorted(toggles.items()):
        word ^= mask
        steps.append(Step(at, word))
    return StepTable(name, tuple(steps), length_us)


NUMERAL_OUTPUTS = 6
COLON_OUTPUTS = 2
HOME = pulses("home", [(1, 5_000, 45_000), (3, 60_000, 95_000), (5, 110_000, 150_000)], 160_000)
SWAP = pulses("swap", [(4, 1_000, 41_000), (5, 80_000, 120_000)], 200_000)
"""Every numeral changes in the same way."""


def load(before: int | None, after: int) -> StepTable:
    """A load of two pulses at times that only this move has."""
    shift = 1_237 * ((before or 0) + 1) + 731 * after
    made = [(0, shift, shift + 40_000), (2, shift + 30_011, shift + 71_013)]
    if before is None:
        made += [(1, shift + 100_000, shift + 130_000)]
    return pulses(f"{before}>{after}", made, shift + 150_000)


def move(before: int | None, after: int) -> Move:
    """The move of a numeral."""
    return Move(None if before is None else str(before), str(after), load(before, after), SWAP)


def numeral(pairs: Sequence[tuple[int, int]], glyphs: Sequence[int]) -> GridTables:
    """A kind of numeral that makes these moves, and shows each glyph from home."""
    made = [*(move(None, glyph) for glyph in glyphs), *(move(*pair) for pair in pairs)]
    return GridTables(NUMERAL_OUTPUTS, HOME, tuple(made))


def colon() -> GridTables:
    """A dot that one coil flips, with no load of its own."""
    on = pulses("on", [(0, 2_000, 32_000)], 40_000)
    off = pulses("off", [(1, 2_000, 32_000)], 40_000)
    empty = pulses("nothing", [], 1)
    moves = (
        Move(None, ":", empty, on),
        Move(None, " ", empty, off),
        Move(" ", ":", empty, on),
        Move(":", " ", empty, off),
    )
    return GridTables(COLON_OUTPUTS, pulses("home", [(1, 3_000, 33_000)], 40_000), moves)


def shows(glyphs: Iterable[int]) -> tuple[str, ...]:
    """Glyphs by their names."""
    return tuple(str(glyph) for glyph in glyphs)


def changes_of(rounds: Iterable[Sequence[int]]) -> list[tuple[int, int]]:
    """Every change that comes in some rounds of numerals, each once."""
    pairs = (
        pair
        for row in rounds
        for pair in zip(row, [*row[1:], row[0]], strict=True)
        if pair[0] != pair[1]
    )
    return list(dict.fromkeys(pairs))


def small_tracks(machine: Machine, **fields: object) -> TrackSet:
    """Two numerals and a colon on 14 outputs, at cadences of one, three and fifteen seconds.

    It comes round after 90 ticks of a second.
    """
    ones, tens = [0, 1, 2, 3, 4], [0, 1, 1, 2, 0, 3]
    made: Mapping[str, object] = {
        "machine": machine.name,
        "width": machine.width,
        "idle_word": machine.idle_word,
        "slack_us": SLACK_US,
        "tick_us": 1_000_000,
        "home_length_us": 400_000,
        "first_length_us": 700_000,
        "spare_us": 300_000,
        "kinds": (numeral(changes_of([ones, tens, [0, 3]]), range(5)), colon()),
        "tracks": (
            Track("tens", 0, (12, 13, 0, 1, 4, 5), 3, shows(tens), 0, 111_000, 60_000, True),
            Track("ones", 0, (2, 3, 6, 7, 8, 9), 1, shows(ones), 150_007, 400_000, 0),
            Track("colon", 1, (10, 11), 15, (":", " "), 30_000, 20_000, 7_000, True),
        ),
        "quiet": Quiet(70, 12),
    }
    return TrackSet(**{**made, **fields})  # type: ignore[arg-type]
