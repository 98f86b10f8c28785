"""The fewest frames that reveal every fault, and the fewest that tell faults apart.

How few frames each lane needs comes from its words. Words are given to cells in several ways, so
that faults of parts that move many cells are told apart too; each way is run in the simulator with
every fault, and the best is kept.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from random import Random
from typing import NamedTuple

from seqc.faults.fault import Fault
from seqc.faults.listing import faults_of
from seqc.faults.painting import Painter, Wish
from seqc.faults.trials import Bench, Course, Tabling, home_of, is_told, plain_tables
from seqc.faults.words import Word, Words, classes_of, words_of
from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine

FONT = "test"
MOST_RUNS = 250_000
"""The work of a choice: cells and actuators times the tables that are played with a batch."""
MOST_WAYS = 12
"""So many ways of giving words to cells are tried for one number of frames."""
MOST_MORE = 2
"""So many frames more than the lower bound are tried where that many don't tell all."""


@dataclass(frozen=True)
class TestFrames:
    """Frames to be shown one after the other, from home on.

    The first `revealing` of them reveal all that they reveal. `alike` has every fault that is
    revealed, those together that the frames don't tell apart; `hidden` are those that they don't
    reveal. No frames do as much in fewer than `least_revealing` and `least_telling`. `tried` frames
    were simulated with every fault; `told_by_any` is how many groups they tell apart together.
    `only` are the kinds that were to be used, nothing for all.
    """

    __test__ = False

    frames: tuple[Frame, ...]
    revealing: int
    alike: tuple[tuple[Fault, ...], ...]
    hidden: tuple[Fault, ...]
    least_revealing: int
    least_telling: int
    tried: int
    told_by_any: int
    only: tuple[str, ...] = ()

    @property
    def tells_all(self) -> bool:
        """Whether they tell apart all that any of the frames tried does."""
        return len(self.alike) == self.told_by_any


def find_test_frames(
    machine: Machine, only: Sequence[str] = (), tabling: Tabling = plain_tables
) -> TestFrames:
    """The frames for a machine, made of some kinds `only` where any are named.

    Each table of `tabling` is played after the one before it and home first of all. What lies in a
    cell before the first frame isn't counted upon: a fault is revealed whatever it is.
    """
    chooser = _Chooser(machine, only, tabling)
    best = chooser.best()
    alike: dict[int, list[Fault]] = {}
    for number, mark in enumerate(best.classes):
        if number in best.revealed:
            alike.setdefault(mark, []).append(chooser.faults[number])
    return TestFrames(
        best.frames,
        best.revealing,
        tuple(tuple(group) for group in alike.values()),
        tuple(f for n, f in enumerate(chooser.faults) if n not in best.revealed),
        max((words.least_revealing for words in chooser.words), default=0),
        max((words.least_telling for words in chooser.words), default=0),
        chooser.tried,
        chooser.told_by_any,
        tuple(only),
    )


class _Way(NamedTuple):
    """Frames, and what they have told of each fault by its number."""

    frames: tuple[Frame, ...]
    revealed: frozenset[int]
    classes: tuple[int, ...]
    revealing: int

    @property
    def worth(self) -> tuple[int, int, int]:
        """More revealed, more told apart, and sooner."""
        return len(self.revealed), len(set(self.classes)), -self.revealing


class _Chooser:
    def __init__(self, machine: Machine, only: Sequence[str], tabling: Tabling) -> None:
        self.machine, self.tabling = machine, tabling
        self.faults = faults_of(machine)
        self.lanes = [
            (lane, kinds)
            for lane in machine.lanes
            if (kinds := [i.name for i in lane.items if not only or i.name in only])
        ]
        self.words = [words_of(machine, lane, kinds, tabling) for lane, kinds in self.lanes]
        self.painters = [Painter(machine, lane) for lane, _ in self.lanes]
        self.tried = 0
        self._left = MOST_RUNS
        self._joint: tuple[int, ...] = (0,) * len(self.faults)
        self._revealed: frozenset[int] = frozenset()

    @property
    def told_by_any(self) -> int:
        """How many groups of revealed faults all ways together tell apart."""
        return len({self._joint[number] for number in self._revealed})

    def best(self) -> _Way:
        """The best way found with the fewest frames that any tells all with."""
        size = max((len(words.words[0]) for words in self.words if words.words), default=0)
        best: _Way | None = None
        for more in range(MOST_MORE + 1):
            found = best
            for wishes in self._wishes(size + more):
                way = self._tried(self._frames(wishes, size + more))
                found = way if found is None or way.worth > found.worth else found
                if self._left <= 0 or (self._is_best(found) and self.tried > size + more):
                    break
            if best is None or (found and found.worth[:2] > best.worth[:2]):
                best = found
            if self._left <= 0 or (best and self._tells_all(best)):
                break
        assert best is not None
        return best

    def _is_best(self, way: _Way) -> bool:
        least = max((words.least_revealing for words in self.words), default=0)
        return self._tells_all(way) and way.revealing <= least

    def _tells_all(self, way: _Way) -> bool:
        told = len({way.classes[number] for number in way.revealed})
        return way.revealed == self._revealed and told == self.told_by_any

    def _wishes(self, size: int) -> Iterator[list[tuple[Sequence[Word], Wish]]]:
        """Ways of giving words to cells: in a broad slanting stripe, in two corners, at random."""
        for number in range(MOST_WAYS):
            yield [
                (_stretched(words, size, number), _wish(painter, number))
                for words, painter in zip(self.words, self.painters, strict=True)
            ]

    def _frames(
        self, wishes: Sequence[tuple[Sequence[Word], Wish]], size: int
    ) -> tuple[Frame, ...]:
        grids = [
            (lane.grid.name, painter.pictures(*given))
            for (lane, _), painter, given in zip(self.lanes, self.painters, wishes, strict=True)
        ]
        return tuple(
            Frame(tuple(Glyph(f"test {k + 1}", FONT, name, rows[k]) for name, rows in grids))
            for k in range(size)
        )

    def _tried(self, frames: tuple[Frame, ...]) -> _Way:
        tables = self.tabling(self.machine, frames)
        course = Course(Bench(self.machine, home_of(tables)), [(f,) for f in self.faults])
        revealed: list[frozenset[int]] = []
        for table in tables.tables:
            course.play(table)
            revealed.append(revealed_of(course))
        classes = told_apart(course)
        size = sum(len(lane.grid.cells) for lane in self.machine.lanes)
        size += len(self.machine.actuators)
        self._left -= (len(frames) + 1) * len(course.batches) * size
        self.tried += len(frames)
        self._joint = classes_of([*zip(self._joint, classes, strict=True)])
        self._revealed |= revealed[-1] if revealed else frozenset()
        revealing = next((k for k, each in enumerate(revealed, 1) if each == revealed[-1]), 0)
        return _Way(frames, revealed[-1] if revealed else frozenset(), classes, revealing)


def revealed_of(course: Course) -> frozenset[int]:
    """The faults that show for certain, whatever was there before."""
    return frozenset(
        number
        for number in range(len(course.hypotheses))
        if any(is_told(mine, theirs) for _, mine, theirs in course.words(number))
    )


def told_apart(course: Course) -> tuple[int, ...]:
    """A number for each fault, the same for those of which all that is seen is the same."""
    return classes_of(
        [
            tuple((spot, mine) for spot, mine, theirs in course.words(number) if mine != theirs)
            for number in range(len(course.hypotheses))
        ]
    )


def _stretched(words: Words, size: int, number: int) -> list[Word]:
    """The words, contrasts first, each as long as there are frames."""
    order = _contrasted(words.words)
    random = Random(number)
    kinds = sorted({kind for word in order for kind in word})
    return [(*word, *(random.choice(kinds) for _ in range(size - len(word)))) for word in order]


def _contrasted(words: Sequence[Word]) -> list[Word]:
    """The words, the one first that differs most from the first right after it."""
    first, *rest = words
    rest.sort(key=lambda word: sum(a == b for a, b in zip(word, first, strict=True)))
    return [first, *rest]


def _wish(painter: Painter, number: int) -> Wish:
    groups, places = len(painter.groups), painter.places
    if number == 0:
        around = max(groups, places)
        return lambda group, place: int(2 * ((group + place) % around) < around)
    if number == 1:
        return lambda group, place: int((2 * place + 1) * groups > (2 * group + 1) * places)
    random = Random(number)
    given = [[random.randrange(1 << 16) for _ in range(places)] for _ in range(groups)]
    return lambda group, place: given[group][place]
