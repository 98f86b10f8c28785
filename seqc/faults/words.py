"""What one lane must show, frame by frame, for its own faults to be seen and told apart.

A word is the row of kinds that one cell is to show. Words are tried on a machine of that one lane;
what they tell there they tell of every lane alike, and no picture tells more of a fault that is one
lane's alone: so the shortest word is a lower bound for the number of frames.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from seqc.faults.fault import FaultKind
from seqc.faults.listing import faults_of
from seqc.faults.trials import Bench, Course, Tabling, home_of, is_told
from seqc.machine.glyphs import Frame, Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Lane, items_of
from seqc.machine.steptable import StepTable

Word = tuple[str, ...]

MOST_WORDS = 800
"""So many words are played at most, the shortest first."""
KEPT = 60
"""So many words of one length are made longer where all of them would be too many."""

OF_ONE_LANE = {
    FaultKind.STUCK,
    FaultKind.LANE_BLOCKED,
    FaultKind.LANE_SLOW,
    FaultKind.TWO_AT_ONCE,
    FaultKind.STICKS_AT_MAGNET,
    FaultKind.MAGAZINES_EXCHANGED,
}


@dataclass(frozen=True)
class Words:
    """Words that tell as much as any, the best first, and how short they could be.

    The first `revealing` kinds of a word reveal every fault that any word reveals; `others` reveal
    as much and are as long, but tell less apart. No word is shorter than `least_telling`, nor
    reveals all in fewer than `least_revealing`.
    """

    words: tuple[Word, ...]
    others: tuple[Word, ...]
    revealing: int
    least_revealing: int
    least_telling: int


@dataclass(frozen=True)
class _Tried:
    """A word with what it has told: the faults that it reveals, and a class for each fault."""

    word: Word
    course: Course
    revealed: frozenset[int]
    classes: tuple[int, ...]

    @property
    def told(self) -> int:
        """How many classes it tells apart."""
        return len(set(self.classes))


def words_of(machine: Machine, lane: Lane, kinds: Sequence[str], tabling: Tabling) -> Words:
    """The words for a lane of a machine, of these kinds alone."""
    small = one_lane(machine, lane)
    faults = [fault for fault in faults_of(small) if fault.kind in OF_ONE_LANE]
    frames = [_plain(small, kind) for kind in kinds]
    tables = tabling(small, frames)
    by_kind = dict(zip(kinds, tables.tables, strict=True))
    start = _Tried(
        (), Course(Bench(small, home_of(tables)), [(fault,) for fault in faults]), frozenset(), ()
    )
    return _Search(by_kind).run(start)


class _Search:
    """Longer and longer words, until none tells more than a shorter one did."""

    def __init__(self, by_kind: dict[str, StepTable]) -> None:
        self.by_kind = by_kind
        self.left = MOST_WORDS
        self.joint: tuple[int, ...] = ()
        self.revealed: frozenset[int] = frozenset()

    def run(self, start: _Tried) -> Words:
        """The shortest words that tell all that is told by any."""
        lengths = [[start]]
        complete = 0
        while self.left > 0:
            before = len(set(self.joint)), len(self.revealed)
            rows = sorted(lengths[-1], key=lambda each: (-len(each.revealed), -each.told))
            whole = len(rows) * len(self.by_kind) <= self.left
            if whole and complete == len(lengths) - 1:
                complete += 1
            chosen = rows if whole else rows[:KEPT]
            lengths.append([self._longer(each, kind) for each in chosen for kind in self.by_kind])
            grown = (len(set(self.joint)), len(self.revealed)) != before
            if not grown and any(map(self._tells_all, lengths[-1])):
                break
        return self._best(lengths, complete)

    def _tells_all(self, tried: _Tried) -> bool:
        """Whether a word tells by itself what all of them tell together."""
        return tried.revealed == self.revealed and tried.told == len(set(self.joint))

    def _longer(self, tried: _Tried, kind: str) -> _Tried:
        self.left -= 1
        course = tried.course.forked()
        course.play(self.by_kind[kind])
        word = (*tried.word, kind)
        looks = [next(course.words(number))[1] for number in range(len(course.hypotheses))]
        revealed = frozenset(n for n, look in enumerate(looks) if is_told(look, word))
        classes = classes_of(looks)
        self.joint = classes_of([*zip(self.joint or classes, classes, strict=True)])
        self.revealed |= revealed
        return _Tried(word, course, revealed, classes)

    def _best(self, lengths: Sequence[Sequence[_Tried]], complete: int) -> Words:
        """The shortest words that tell most; of these, those that reveal all soonest."""
        by_word = {each.word: each for row in lengths for each in row}
        telling = [each for row in lengths[1:] for each in row if each.revealed == self.revealed]
        telling = telling or [*by_word.values()]
        top = max(each.told for each in telling)
        short = min(len(each.word) for each in telling if each.told == top)
        chosen = [each for each in telling if each.told == top and len(each.word) == short]

        def reveals_at(word: Word) -> int:
            return next(
                size
                for size in range(len(word) + 1)
                if by_word[word[:size]].revealed == by_word[word].revealed
            )

        soonest = min(reveals_at(each.word) for each in chosen)
        words = [each.word for each in chosen if reveals_at(each.word) == soonest]
        first = min(len(each.word) for each in telling)
        others = tuple(each.word for each in telling if len(each.word) == short)
        return Words(
            tuple(words), others, soonest, min(first, complete + 1), min(short, complete + 1)
        )


def classes_of(marks: Sequence[object]) -> tuple[int, ...]:
    """A number for each mark, equal ones the same."""
    known: dict[object, int] = {}
    return tuple(known.setdefault(mark, len(known)) for mark in marks)


def _plain(machine: Machine, kind: str) -> Frame:
    grid = machine.lanes[0].grid
    return Frame((Glyph(kind, "", grid.name, (kind,) * len(grid.cells)),))


def one_lane(machine: Machine, lane: Lane) -> Machine:
    """The machine with one lane of a grid alone: the first of those that offer the most kinds."""
    kinds = [len(items_of(feed)) for feed in lane.feeds]
    cell = lane.grid.cells[kinds.index(max(kinds))]
    grid = replace(lane.grid, cells=(cell,))
    moving = [a for a in machine.actuators if a.grid.name == grid.name and cell in a.cells]
    actuators = tuple(
        replace(each, index=index, grid=grid, cells=(cell,)) for index, each in enumerate(moving)
    )
    feed = next((own for own, cells in lane.others if cell in cells), lane.feed)
    small = replace(lane, grid=grid, feed=feed, others=())
    return replace(machine, lanes=(small,), actuators=actuators, fonts=(), programmes=())
