"""The positions in which a load can leave the selectors that its needs speak of.

The last pass sets what its needs want; what it leaves open stands where an earlier pass wanted it.
So an end is a row of ways, the last first, each of which adds what all before it leave open, until
no need has more to say. Every end of a load that sets only what its passes need is among them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from seqc.solver.positions import UNKNOWN, Positions
from seqc.solver.ways import Ways

MOST_ENDS = 64
MOST_PARTS = 1_000


def ends_of(needs: Sequence[Ways]) -> tuple[Positions, ...] | None:
    """All ends of a load with these needs, None where they are too many."""
    found: list[Positions] = []
    seen = {UNKNOWN: None}
    waiting = [UNKNOWN]
    while waiting:
        end = waiting.pop()
        if all(any(not way.known & ~end.known for way in ways) for ways in needs):
            found.append(end)
        more = [each for each in dict.fromkeys(_with_one_before(end, needs)) if each not in seen]
        seen.update(dict.fromkeys(more))
        waiting += more
        if len(found) > MOST_ENDS or len(seen) > MOST_PARTS:
            return None
    return tuple(found)


def _with_one_before(end: Positions, needs: Sequence[Ways]) -> Iterator[Positions]:
    """The last positions of a load with what one pass before them adds."""
    for ways in needs:
        for way in ways:
            if way.known & ~end.known:
                yield way.then(end)
