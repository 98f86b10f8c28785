"""All largest sets of pairwise opposed needs: no pass can load two needs of one."""

from __future__ import annotations

from collections.abc import Sequence

from seqc.solver.positions import bits

MOST_CLIQUES = 2_000


def maximal_cliques(graph: Sequence[int]) -> list[int]:
    """The sets that no further need can be added to, at most `MOST_CLIQUES`, largest first.

    C. Bron and J. Kerbosch, Finding all cliques of an undirected graph, 1973, with a pivot.
    """
    found: list[int] = []
    waiting = [(0, (1 << len(graph)) - 1, 0)]
    while waiting and len(found) < MOST_CLIQUES:
        chosen, open_, closed = waiting.pop()
        if not open_ | closed:
            found.append(chosen)
        if not open_:
            continue
        pivot = max(bits(open_ | closed), key=lambda i: (graph[i] & open_).bit_count())
        for need in bits(open_ & ~graph[pivot]):
            near = graph[need]
            waiting.append((chosen | 1 << need, open_ & near, closed & near))
            open_ ^= 1 << need
            closed |= 1 << need
    return sorted(found, key=lambda each: (-each.bit_count(), each))
