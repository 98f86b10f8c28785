"""Ways of giving words to cells, by number: plain ones first, then at random.

Parts that move many cells are told apart by what their cells show beside each other, so rows are to
differ from rows and columns from columns. Some ways begin with frames of one kind: the kind that
needs nothing thrown shows whether a part can be driven to thrown only, and a load of one pass shows
items that are a little late.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from random import Random

from seqc.faults.painting import Painted, Painter, Wish
from seqc.faults.words import Word, Words
from seqc.machine.lane_graph import routes_through
from seqc.machine.parts import Lane, Position

MOST_CELLS = 800
"""So many cells are painted at most to choose a way."""


def chosen_words(found: Words, lane: Lane, number: int) -> list[Word]:
    """The words for a way: all, those that begin alike, or as many different ones as there are."""
    words = found.words
    groups: dict[Word, list[Word]] = {}
    for word in words:
        groups.setdefault(word[:-1], []).append(word)
    thrown = {
        kind: min(sum(at is Position.THROWN for _, at in route) for route in several)
        for feed in reversed(lane.feeds)
        for kind, several in routes_through(feed).items()
    }
    shared = sorted(
        (group for group in groups.values() if len(group) > 1),
        key=lambda group: [thrown[kind] for kind in group[0]],
    )
    if number % 3 == 1 and shared:
        return shared[number // 3 % len(shared)]
    return _contrasted(found.others if number % 3 == 2 else words)


def stretched(words: Sequence[Word], kinds: Sequence[str], size: int, number: int) -> list[Word]:
    """The words, each made as long as there are frames."""
    random = Random(number)
    if size < len(words[0]):
        return [(random.choice(kinds),) * size for _ in range(2 * len(kinds))]
    return [(*word, *(random.choice(kinds) for _ in range(size - len(word)))) for word in words]


def best_painted(
    painter: Painter, words: Sequence[Word], number: int, pairs: Collection[tuple[int, int]]
) -> Painted:
    """Of some ways of giving words to cells the one that sets most parts apart.

    `pairs` are actuators by index whose coils may be exchanged.
    """
    tries = max(1, MOST_CELLS // len(painter.ranks))
    wishes = [_stripe(painter)] if number < 2 else []
    wishes += [_at_random(painter, number * tries + k) for k in range(tries)]
    best: tuple[int, Painted] | None = None
    own = [pair for pair in pairs if set(pair) <= painter.actuators]
    for wish in wishes:
        painted = painter.painted(words, wish)
        merit = _merit(painter, painted, own)
        if best is None or merit > best[0]:
            best = merit, painted
        if merit == len(own) + len(painter.selectors):
            break
    assert best is not None
    return best[1]


def _stripe(painter: Painter) -> Wish:
    """The first two words in a broad slanting stripe."""
    around = max(len(painter.groups), painter.places)
    return lambda group, place: int(2 * ((group + place) % around) < around)


def _at_random(painter: Painter, seed: int) -> Wish:
    random = Random(seed)
    given = [[random.randrange(1 << 16) for _ in range(painter.places)] for _ in painter.groups]
    return lambda group, place: given[group][place]


def _merit(painter: Painter, painted: Painted, pairs: Collection[tuple[int, int]]) -> int:
    """How many pairs differ in what they do, and how many selectors must go back to rest."""
    apart = sum(_differ(painter, painted, *pair) for pair in pairs)
    return apart + sum(_goes_back(painted, selector) for selector in painter.selectors)


def _differ(painter: Painter, painted: Painted, one: int, other: int) -> bool:
    """Whether two metering gates can't be cycled together, or two selectors stand otherwise."""
    if one in painter.metering:
        mine, theirs = (painted.standing[painter.metering[index]] for index in (one, other))
        return any(
            a.get(index, position) is not position
            for a, b in zip(mine, theirs, strict=True)
            for index, position in b.items()
        )
    return _stands(painted, one) != _stands(painted, other) or any(
        one in standing and other in standing and standing[one] is not standing[other]
        for frames in painted.standing
        for standing in frames
    )


def _stands(painted: Painted, selector: int) -> set[tuple[int, Position]]:
    """How a selector must stand in each frame."""
    return {
        (number, standing[selector])
        for frames in painted.standing
        for number, standing in enumerate(frames)
        if selector in standing
    }


def _goes_back(painted: Painted, selector: int) -> bool:
    """Whether a selector is thrown in one frame and must be at rest in a later one."""
    was_thrown = False
    for frame in zip(*painted.standing, strict=True):
        stands = {standing.get(selector) for standing in frame}
        if was_thrown and Position.REST in stands:
            return True
        was_thrown |= Position.THROWN in stands
    return False


def _contrasted(words: Sequence[Word]) -> list[Word]:
    """The words, the one first that differs most from the first right after it."""
    first, *rest = words
    rest.sort(key=lambda word: sum(a == b for a, b in zip(word, first, strict=True)))
    return [first, *rest]
