"""The lane of one cell as a directed graph, and the selector positions that offer each kind.

A magazine feeds selectors, a selector the next selector or the metering gate, and so on down to the
place that is seen. Each edge that leaves an input of a selector is marked with the position in
which the selector offers it. The routes of a kind are the marks along the paths of the graph; they
are gathered on the way through the feed, so that planning needs no graph library, whose import
takes longer than a plan.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from seqc.machine.model import Machine
from seqc.machine.parts import SHOWN, Branch, Cell, Feed, Item, Lane, Position, Selector

if TYPE_CHECKING:
    import networkx as nx

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


Route = tuple[tuple[Selector, Position], ...]
"""Selectors and the positions that together offer a kind, from the bottom to the magazine."""


def lane_graph(lane: Lane, feed: Feed) -> nx.DiGraph[Node]:
    """The graph of a cell that is fed so; edges out of an input carry `selector` and `position`."""
    import networkx as nx

    graph: nx.DiGraph[Node] = nx.DiGraph()
    gates = [Node("gate", gate.name) for gate in lane.gates]
    stations = [*gates[: lane.gates_above], SEEN, *gates[lane.gates_above :]]
    nx.add_path(graph, stations)
    waiting: list[tuple[Feed, Node, dict[str, object]]] = [(feed, stations[0], {})]
    rank = 0
    while waiting:
        above, below, marks = waiting.pop()
        rank += 1
        if isinstance(above, Item):
            graph.add_edge(Node("magazine", above.name, rank), below, **marks)
            continue
        node = Node("selector", above.selector.name, rank)
        graph.add_edge(node, below, **marks)
        for position, offered in ((Position.REST, above.rest), (Position.THROWN, above.thrown)):
            waiting.append((offered, node, {"selector": above.selector, "position": position}))
    return graph


def routes_through(feed: Feed) -> dict[str, tuple[Route, ...]]:
    """For each kind that a feed offers every route to it, those at rest first."""
    found: dict[str, list[Route]] = {}
    waiting: list[tuple[Feed, Route]] = [(feed, ())]
    while waiting:
        node, route = waiting.pop()
        if isinstance(node, Branch):
            waiting.append((node.thrown, (*route, (node.selector, Position.THROWN))))
            waiting.append((node.rest, (*route, (node.selector, Position.REST))))
        else:
            found.setdefault(node.name, []).append(route)
    return {kind: tuple(several) for kind, several in found.items()}


def routes(machine: Machine, lane: Lane, cell: Cell) -> dict[str, tuple[Conjunction, ...]]:
    """For each kind that is offered in this cell, one conjunction for each route to it."""

    def conjunction(route: Route) -> Conjunction:
        return {
            machine.actuator_of(selector, lane.grid, cell).index: position
            for selector, position in route
        }

    found = routes_through(lane.feed_of(cell))
    return {kind: tuple(map(conjunction, several)) for kind, several in found.items()}


def lane_edges(lane: Lane, feed: Feed) -> list[dict[str, str]]:
    """The edges of the graph of a cell, each with the position that it needs of a selector."""
    edges = []
    for source, target, marks in lane_graph(lane, feed).edges(data=True):
        edge = {"from": str(source), "to": str(target)}
        if "position" in marks:
            edge["position"] = marks["position"].value
        edges.append(edge)
    return edges
