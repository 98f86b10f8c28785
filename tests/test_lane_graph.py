"""The conjunctions of a lane are the marks along the paths of its graph."""

from __future__ import annotations

from random import Random

import networkx as nx
import pytest
from boards import board, grid_of
from strategies import Limits, random_machine

from seqc.machine.lane_graph import SEEN, lane_edges, lane_graph, routes
from seqc.machine.parts import Position


@pytest.mark.parametrize("seed", range(60))
def test_routes_are_the_paths_from_magazines_to_the_place_that_is_seen(seed: int) -> None:
    machine = random_machine(Random(seed), Limits())
    lane = machine.lanes[0]
    graph = lane_graph(lane, lane.feed)
    assert nx.is_directed_acyclic_graph(graph)
    for cell in lane.grid.cells:
        wanted: dict[str, list[dict[int, Position]]] = {}
        for magazine in (node for node in graph if node.role == "magazine"):
            (way,) = nx.all_simple_paths(graph, magazine, SEEN)
            marks = [graph.edges[edge] for edge in nx.utils.pairwise(way)]
            found = {
                machine.actuator_of(mark["selector"], lane.grid, cell).index: mark["position"]
                for mark in marks
                if "selector" in mark
            }
            wanted.setdefault(magazine.name, []).append(found)
        got = routes(machine, lane, cell)
        assert got.keys() == wanted.keys()
        for kind, conjunctions in got.items():
            key = lambda found: sorted((index, at.value) for index, at in found.items())  # noqa: E731
            assert sorted(map(key, conjunctions)) == sorted(map(key, wanted[kind]))


def test_the_edges_of_a_lane_are_told_from_the_top_to_the_place_that_is_seen() -> None:
    lane = board([grid_of(2, 2)]).lanes[0]
    edges = lane_edges(lane, lane.feed)
    assert {"from": "gate swap", "to": "place shown"} in edges
    assert {"from": "magazine slate", "to": "selector pick1", "position": "rest"} in edges
    assert {"from": "magazine chalk", "to": "selector pick1", "position": "thrown"} in edges
    assert {"from": "selector pick1", "to": "gate drop"} in edges
