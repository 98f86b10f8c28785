"""All largest sets of pairwise opposed needs: no pass can load two needs of one."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import islice

import networkx as nx

from seqc.solver.positions import bits

MOST_CLIQUES = 2_000


def maximal_cliques(graph: Sequence[int]) -> list[int]:
    """The sets that no further need can be added to, at most `MOST_CLIQUES`, largest first.

    `graph` has for each need the bit set of those that it is opposed to.
    """
    opposed: nx.Graph[int] = nx.Graph()
    opposed.add_nodes_from(range(len(graph)))
    opposed.add_edges_from((need, other) for need, mask in enumerate(graph) for other in bits(mask))
    found = islice(nx.find_cliques(opposed), MOST_CLIQUES)
    sets = (sum(1 << need for need in each) for each in found)
    return sorted(sets, key=lambda each: (-each.bit_count(), each))
