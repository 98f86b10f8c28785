"""The fewest passes are chromatic numbers, the fewest pulses a Gray code; published values hold."""

from __future__ import annotations

import itertools
from typing import Any, TypeAlias

import networkx as nx
import pytest
from boards import COLUMN, ROW, board
from solver_cases import frame

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Cell, Grid
from seqc.solver.frames import plan_frame
from seqc.solver.needs import needs_of
from seqc.solver.passes.colouring import fewest_classes
from seqc.solver.positions import home

Graph: TypeAlias = "nx.Graph[Any]"


def queen_graph(size: int) -> Graph:
    """The squares of a board, joined where a queen moves from one to the other."""
    graph: Graph = nx.Graph()
    squares = list(itertools.product(range(size), repeat=2))
    graph.add_nodes_from(squares)
    for (a, b), (c, d) in itertools.combinations(squares, 2):
        if a == c or b == d or abs(a - c) == abs(b - d):
            graph.add_edge((a, b), (c, d))
    return graph


def opposing_machine(graph: Graph) -> tuple[Machine, Glyph]:
    """A column for each vertex, a row for each edge: its two cells alone are not absent.

    They want opposite positions of the row's selector, so that joined columns can't share a pass.
    """
    column_of = {vertex: column for column, vertex in enumerate(graph.nodes, 1)}
    cells, kinds = [], []
    for row, edge in enumerate(graph.edges, 1):
        cells += [Cell(row, column) for column in sorted(column_of[end] for end in edge)]
        kinds += ["slate", "chalk"]
    grid = Grid("numeral", graph.number_of_edges(), len(column_of), tuple(cells))
    machine = board([grid], selectors=(ROW,), gates={"drop": COLUMN})
    return machine, Glyph("graph", "hand", "numeral", tuple(kinds))


ENOUGH = 2_000_000
"""Placements, a hundred times what a plan may take: myciel5 takes more than 300,000 to prove."""

# DIMACS graph colouring benchmarks (queen5_5 to queen7_7, myciel3 to myciel5).
DIMACS: dict[str, tuple[Graph, int]] = {
    "queen5_5": (queen_graph(5), 5),
    "queen6_6": (queen_graph(6), 7),
    "queen7_7": (queen_graph(7), 7),
    "myciel3": (nx.mycielski_graph(4), 4),
    "myciel4": (nx.mycielski_graph(5), 5),
    "myciel5": (nx.mycielski_graph(6), 6),
}

# Chromatic numbers of named graphs, as in any graph theory text.
NAMED: dict[str, tuple[Graph, int]] = {
    "Petersen": (nx.petersen_graph(), 3),
    "Chvatal": (nx.chvatal_graph(), 4),
    "Frucht": (nx.frucht_graph(), 3),
    "Heawood": (nx.heawood_graph(), 2),
    "icosahedron": (nx.icosahedral_graph(), 4),
    "octahedron": (nx.octahedral_graph(), 3),
}


LONG = pytest.param("myciel5", marks=pytest.mark.thorough)


@pytest.mark.parametrize("name", [*list(DIMACS)[:-1], LONG, *NAMED])
def test_fewest_passes_are_the_chromatic_number(name: str) -> None:
    graph, chromatic_number = (DIMACS | NAMED)[name]
    machine, glyph = opposing_machine(graph)
    lane = needs_of(machine, glyph.grid)
    needs = [lane.need(group, glyph.kinds).ways for group in lane.groups]
    colouring = fewest_classes(needs, effort=ENOUGH)
    assert len(colouring.classes) == colouring.lower_bound == chromatic_number
    nodes = list(graph.nodes)
    vertices = [nodes[group.actuator.cells[0].column - 1] for group in lane.groups]
    assert sorted(itertools.chain(*colouring.classes)) == list(range(len(vertices)))
    for members in colouring.classes:
        assert not graph.subgraph([vertices[number] for number in members]).edges


@pytest.mark.parametrize("name", NAMED)
def test_a_machine_like_a_named_graph_is_planned_in_so_many_passes(name: str) -> None:
    graph, chromatic_number = NAMED[name]
    machine, glyph = opposing_machine(graph)
    (plan,) = plan_frame(machine, frame(glyph), home(len(machine.actuators)))
    assert len(plan.passes) == plan.passes_bound == chromatic_number


@pytest.mark.parametrize("count", range(1, 5))
def test_all_codes_are_visited_as_in_a_gray_code(count: int) -> None:
    codes = list(itertools.product((0, 1), repeat=count))
    cells = [Cell(r, c) for r in range(1, count + 1) for c in range(1, len(codes) + 1)]
    grid = Grid("numeral", count, len(codes), tuple(cells))
    machine = board([grid])
    kinds = tuple(["slate", "chalk"][codes[cell.column - 1][cell.row - 1]] for cell in cells)
    glyph = Glyph("codes", "hand", "numeral", kinds)
    (plan,) = plan_frame(machine, frame(glyph), home(len(machine.actuators)))
    counting = sum(
        sum(a != b for a, b in zip(code, after, strict=True))
        for code, after in itertools.pairwise(codes)
    )
    # F. Gray, Pulse code communication, US patent 2632058: each code differs from the next in one.
    assert plan.selector_pulses == 2**count - 1
    assert counting == 2 ** (count + 1) - count - 2
    assert plan.proven
