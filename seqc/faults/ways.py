"""Ways of giving words to cells, by number: plain ones first, then at random.

Parts that move many cells are told apart by what their cells show beside each other, so rows are to
differ from rows and columns from columns. Some ways begin with frames of one kind: the kind that
needs nothing thrown shows whether a part can be driven to thrown only, and a load of one pass shows
items that are a little late.
"""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

from seqc.faults.painting import Painter, Wish
from seqc.faults.words import Word
from seqc.machine.parts import Branch, Feed, Lane


def chosen_words(words: Sequence[Word], lane: Lane, number: int) -> list[Word]:
    """The words for a way: all of them, or those that begin alike, with the least thrown first."""
    groups: dict[Word, list[Word]] = {}
    for word in words:
        groups.setdefault(word[:-1], []).append(word)
    thrown = _thrown(lane.feed)
    shared = sorted(
        (group for group in groups.values() if len(group) > 1),
        key=lambda group: [thrown[kind] for kind in group[0]],
    )
    if number == 0 or not shared:
        return _contrasted(words)
    return shared[(number - 1) % len(shared)] if number % 3 else _contrasted(words)


def stretched(words: Sequence[Word], kinds: Sequence[str], size: int, number: int) -> list[Word]:
    """The words, each made as long as there are frames."""
    random = Random(number)
    if size < len(words[0]):
        return [(random.choice(kinds),) * size for _ in range(2 * len(kinds))]
    return [(*word, *(random.choice(kinds) for _ in range(size - len(word)))) for word in words]


def wish_of(painter: Painter, number: int) -> Wish:
    """Which word each cell is to have: in a broad slanting stripe, in two corners, or at random."""
    groups, places = len(painter.groups), painter.places
    if number < 2:
        around = max(groups, places)
        return lambda group, place: int(2 * ((group + place) % around) < around)
    if number == 2:
        return lambda group, place: int((2 * place + 1) * groups > (2 * group + 1) * places)
    random = Random(number)
    given = [[random.randrange(1 << 16) for _ in range(places)] for _ in range(groups)]
    return lambda group, place: given[group][place]


def _contrasted(words: Sequence[Word]) -> list[Word]:
    """The words, the one first that differs most from the first right after it."""
    first, *rest = words
    rest.sort(key=lambda word: sum(a == b for a, b in zip(word, first, strict=True)))
    return [first, *rest]


def _thrown(feed: Feed) -> dict[str, int]:
    """How many selectors must be thrown for each kind, by the easiest of its routes."""
    found: dict[str, int] = {}
    waiting: list[tuple[Feed, int]] = [(feed, 0)]
    while waiting:
        node, thrown = waiting.pop()
        if isinstance(node, Branch):
            waiting += [(node.rest, thrown), (node.thrown, thrown + 1)]
        else:
            found[node.name] = min(thrown, found.get(node.name, thrown))
    return found
