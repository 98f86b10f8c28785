"""The lane of one cell as a directed graph, and the selector positions that offer each kind.

A magazine feeds selectors, a selector the next selector or the metering gate, and so on down to the
place that is seen. Each edge that leaves an input of a selector is marked with the position in
which the selector offers it. The routes of a kind are read off the paths of the graph.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import networkx as nx

from seqc.machine.model import Machine
from seqc.machine.parts import SHOWN, Cell, Feed, Item, Lane, Position

Conjunction = Mapping[int, Position]
"""Positions that must hold together, by the index of the actuator."""


@dataclass(frozen=True, slots=True)
class Node:
    """A node of a lane graph: `role` is magazine, selector, gate or place."""

    role: str
    name: str
    rank: int = 0

    def __str__(self) -> str:
        return f"{self.role} {self.name}"


SEEN = Node("place", SHOWN)


def lane_graph(lane: Lane) -> nx.DiGraph[Node]:
    """The graph of any cell of a lane; edges out of an input carry `selector` and `position`."""
    graph: nx.DiGraph[Node] = nx.DiGraph()
    gates = [Node("gate", gate.name) for gate in lane.gates]
    stations = [*gates[: lane.gates_above], SEEN, *gates[lane.gates_above :]]
    nx.add_path(graph, stations)
    waiting: list[tuple[Feed, Node, dict[str, object]]] = [(lane.feed, stations[0], {})]
    rank = 0
    while waiting:
        feed, below, marks = waiting.pop()
        rank += 1
        if isinstance(feed, Item):
            graph.add_edge(Node("magazine", feed.name, rank), below, **marks)
            continue
        node = Node("selector", feed.selector.name, rank)
        graph.add_edge(node, below, **marks)
        for position, offered in ((Position.REST, feed.rest), (Position.THROWN, feed.thrown)):
            waiting.append((offered, node, {"selector": feed.selector, "position": position}))
    return graph


def routes(machine: Machine, lane: Lane, cell: Cell) -> dict[str, tuple[Conjunction, ...]]:
    """For each kind, one conjunction for each route that offers it in this cell."""
    graph = lane_graph(lane)
    found: dict[str, list[Conjunction]] = {item.name: [] for item in lane.items}
    for node in graph.nodes:
        if node.role == "magazine":
            found[node.name].append(_positions(machine, lane, cell, graph, node))
    return {kind: tuple(conjunctions) for kind, conjunctions in found.items()}


def _positions(
    machine: Machine, lane: Lane, cell: Cell, graph: nx.DiGraph[Node], magazine: Node
) -> Conjunction:
    way = nx.shortest_path(graph, magazine, SEEN)
    marks = [graph.edges[edge] for edge in nx.utils.pairwise(way)]
    return {
        machine.actuator_of(mark["selector"], lane.grid, cell).index: mark["position"]
        for mark in marks
        if "selector" in mark
    }
