"""The fewest frames that reveal every fault, and the fewest that tell faults apart.

How few frames each lane needs comes from its words. Words are given to cells in several ways, so
that faults of parts that move many cells are told apart too; each way is run in the simulator with
every fault, and the best is kept.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from seqc.faults.fault import Fault, FaultKind
from seqc.faults.hidden import Hidden, why_hidden
from seqc.faults.listing import faults_of
from seqc.faults.painting import Painter
from seqc.faults.trials import Bench, Course, Tabling, home_of, is_told, plain_tables
from seqc.faults.ways import best_painted, chosen_words, stretched
from seqc.faults.words import classes_of, words_of
from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine

FONT = "test"
MOST_RUNS = 300_000
"""The work of a choice: tables played with a batch, each as many as `RUN`, cells and actuators."""
RUN = 100
FEW_WAYS, MOST_WAYS = 3, 9
"""So many ways of giving words to cells are tried, most where none reveals all that any does."""
MOST_MORE = 2
"""So many frames are added where they tell more apart."""
CANDIDATES = 3
"""From so many frames each of these is chosen."""


@dataclass(frozen=True)
class TestFrames:
    """Frames to be shown one after the other, from home on.

    Those that are `revealing` reveal every fault that the frames tried reveal, and those that are
    `telling` tell faults apart as well; `alike` has these faults, those together that are seen
    alike, and `hidden` those that they don't reveal, with why. No frames do as much in fewer than
    `least_revealing` and `least_telling`. `tried` frames were simulated with every fault, and where
    they are `settled` a few more after them that told no more. `only` are the kinds that were to be
    used, nothing for all.
    """

    __test__ = False

    revealing: tuple[Frame, ...]
    telling: tuple[Frame, ...]
    alike: tuple[tuple[Fault, ...], ...]
    hidden: tuple[Hidden, ...]
    least_revealing: int
    least_telling: int
    tried: int
    settled: bool
    only: tuple[str, ...] = ()


def find_test_frames(
    machine: Machine, only: Sequence[str] = (), tabling: Tabling = plain_tables
) -> TestFrames:
    """The frames for a machine, made of some kinds `only` where any are named.

    Each table of `tabling` is played after the one before it and home first of all. What lies in a
    cell before the first frame isn't counted upon: a fault is revealed whatever it is.
    """
    chooser = _Chooser(machine, only, tabling)
    revealing, telling = chooser.best()
    alike: dict[int, list[Fault]] = {}
    for number in sorted(telling.revealed):
        alike.setdefault(telling.classes[number], []).append(chooser.faults[number])
    unseen = [f for n, f in enumerate(chooser.faults) if n not in telling.revealed]
    return TestFrames(
        revealing.frames[: revealing.revealing],
        telling.frames,
        tuple(tuple(group) for group in alike.values()),
        why_hidden(machine, unseen, tabling(machine, telling.frames)),
        chooser.least_revealing,
        max((words.least_telling for words in chooser.words), default=0),
        chooser.tried,
        chooser.settled,
        tuple(only),
    )


class _Way(NamedTuple):
    """Frames, and what they have told of each fault by its number.

    The first `revealing` of them reveal all that they reveal.
    """

    frames: tuple[Frame, ...]
    revealed: frozenset[int]
    classes: tuple[int, ...]
    revealing: int

    @property
    def told(self) -> int:
        """How many groups of faults they tell apart."""
        return len({self.classes[number] for number in self.revealed})


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
        self.least_revealing = max((words.least_revealing for words in self.words), default=0)
        self._pairs = [
            (fault.actuators[0], fault.actuators[1])
            for fault in self.faults
            if fault.kind is FaultKind.COILS_EXCHANGED
        ]
        self.tried = 0
        self.settled = False
        self._left = MOST_RUNS
        cells = sum(len(lane.grid.cells) for lane in machine.lanes)
        self._size = RUN + cells + len(machine.actuators)

    def best(self) -> tuple[_Way, _Way]:
        """The way that reveals all in the fewest frames, and the one that tells most apart."""
        ways = self._ways()
        revealing = max(ways, key=lambda way: (len(way.revealed), -way.revealing, way.told))
        telling = max(ways, key=lambda way: (len(way.revealed), way.told, -way.revealing))
        bases = [telling, *ways[1:2]]
        for more in range(MOST_MORE):
            bases = [longer for base in bases if (longer := self._longer(base, more))]
            better = max([telling, *bases], key=lambda way: (len(way.revealed), way.told))
            if better is telling:
                self.settled = self._left > 0
                break
            telling = better
        if len(telling.revealed) > len(revealing.revealed):
            revealing = telling
        return revealing, telling

    def _ways(self) -> list[_Way]:
        """At least two ways with as few frames as one lane needs, for about half of the work."""
        size = max(len(words.words[0]) for words in self.words)
        ways: list[_Way] = []
        for number in range(MOST_WAYS):
            ways.append(self._tried(self._frames(number, size)))
            by_any = frozenset().union(*(way.revealed for way in ways))
            enough = len(ways) >= FEW_WAYS and any(way.revealed == by_any for way in ways)
            if number and (enough or self._left <= MOST_RUNS // 2):
                break
        return ways

    def _longer(self, way: _Way, more: int) -> _Way | None:
        """The way with the frame added that tells most more; None where none does."""
        groups = Counter(way.classes)
        open_ones = [
            number
            for number in range(len(self.faults))
            if number not in way.revealed or groups[way.classes[number]] > 1
        ]
        course = self._course(way.frames, open_ones)
        least = len(revealed_of(course)) + len(set(told_apart(course)))
        best: tuple[int, Frame] | None = None
        for number in range(CANDIDATES):
            if self._left <= 0:
                break
            frame = self._frames(1000 + more * CANDIDATES + number, 1)[0]
            longer = course.forked()
            self._play(longer, (frame,))
            worth = len(revealed_of(longer)) + len(set(told_apart(longer)))
            if worth > (best[0] if best else least):
                best = worth, frame
        return self._tried((*way.frames, best[1])) if best else None

    def _frames(self, number: int, size: int) -> tuple[Frame, ...]:
        """Frames in which words are given to cells in the way of that number."""
        grids = []
        for (lane, kinds), words, painter in zip(
            self.lanes, self.words, self.painters, strict=True
        ):
            chosen = stretched(chosen_words(words, lane, number), kinds, size, number)
            painted = best_painted(painter, chosen, number, self._pairs)
            grids.append((lane.grid.name, painted.pictures))
        return tuple(
            Frame(tuple(Glyph(f"test {k + 1}", FONT, name, rows[k]) for name, rows in grids))
            for k in range(size)
        )

    def _tried(self, frames: tuple[Frame, ...]) -> _Way:
        """What frames tell of all faults."""
        frames = tuple(_numbered(frame, k) for k, frame in enumerate(frames, 1))
        course = self._course((), range(len(self.faults)))
        revealed = self._play(course, frames)
        soonest = next(k for k, each in enumerate([frozenset(), *revealed]) if each == revealed[-1])
        self.tried += len(frames)
        return _Way(frames, revealed[-1], told_apart(course), soonest)

    def _course(self, frames: tuple[Frame, ...], numbers: Sequence[int]) -> Course:
        """Some of the faults by their numbers, followed through frames from home on."""
        bench = Bench(self.machine, home_of(self.tabling(self.machine, frames)))
        course = Course(bench, [(self.faults[number],) for number in numbers])
        self._left -= len(course.batches) * self._size
        self._play(course, frames)
        return course

    def _play(self, course: Course, frames: tuple[Frame, ...]) -> list[frozenset[int]]:
        """Play frames one by one; after each the faults that are revealed."""
        revealed = []
        for table in self.tabling(self.machine, frames).tables:
            course.play(table)
            self._left -= len(course.batches) * self._size
            revealed.append(revealed_of(course))
        return revealed


def _numbered(frame: Frame, number: int) -> Frame:
    return Frame(tuple(replace(glyph, name=f"test {number}") for glyph in frame))


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
