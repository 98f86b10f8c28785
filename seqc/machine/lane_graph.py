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
from seqc.machine.parts import SHOWN, Branch, Cell, Feed, Item, Lane, Position

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


def lane_graph(lane: Lane) -> nx.DiGraph[Node]:
    """The graph of any cell of a lane; edges out of an input carry `selector` and `position`."""
    import networkx as nx

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
    found: dict[str, list[Conjunction]] = {item.name: [] for item in lane.items}
    waiting: list[tuple[Feed, dict[int, Position]]] = [(lane.feed, {})]
    while waiting:
        feed, marks = waiting.pop()
        if isinstance(feed, Branch):
            actuator = machine.actuator_of(feed.selector, lane.grid, cell)
            waiting.append((feed.rest, {**marks, actuator.index: Position.REST}))
            waiting.append((feed.thrown, {**marks, actuator.index: Position.THROWN}))
        else:
            found[feed.name].append(marks)
    return {kind: tuple(conjunctions) for kind, conjunctions in found.items()}


def lane_edges(lane: Lane) -> list[dict[str, str]]:
    """The edges of the graph of a lane, each with the position that it needs of a selector."""
    edges = []
    for source, target, marks in lane_graph(lane).edges(data=True):
        edge = {"from": str(source), "to": str(target)}
        if "position" in marks:
            edge["position"] = marks["position"].value
        edges.append(edge)
    return edges
