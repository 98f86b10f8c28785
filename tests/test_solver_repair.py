"""The smallest repairs of machines whose fonts are out of reach, and why they are."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace
from random import Random

import pytest
from boards import CELL, COLUMN, GRID, ROW, board, glyph, grid_of, letters
from reference import repair_cpsat, repairs
from reference.repairs import Links, actuators_in, links_of, shows_all
from unreachable import any_glyphs, is_lost, tied_machine, why_lost

from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.machine.parts import Branch, Cell, Feed, Gate, Item, LinkageKind, Selector, walk_feed
from seqc.machine.wiring import Actuator
from seqc.solver.reach.contradictions import reach_of
from seqc.solver.reach.covering import Demand, cheapest_cover
from seqc.solver.reach.moves import Regrouping, fewest_moves
from seqc.solver.reach.new_linkage import NewLinkage
from seqc.solver.reach.repair import smallest_repair

GRID_NAME = "numeral"


def linked_anew(machine: Machine, links: Sequence[NewLinkage]) -> Links:
    """The links of the machine's grid with those of some parts in place of the old ones."""
    lane = machine.lanes[0]
    names = [*(part.name for part in lane.selectors), lane.metering.name]
    labels = list(links_of(machine))
    for link in links:
        at = {cell: number for number, cells in enumerate(link.groups) for cell in cells}
        labels[names.index(link.part.name)] = tuple(at[cell] for cell in lane.grid.cells)
    return tuple(labels)


def rebuilt(machine: Machine, links: Sequence[NewLinkage]) -> Machine:
    """The machine with the new linkages in its declaration, as a maker would write them."""
    lane = machine.lanes[0]
    new = {link.part.name: link.linkage for link in links}
    gates = {gate.name: new.get(gate.name) or gate.linkage for gate in lane.gates}
    feed = lane.feed
    for selector in lane.selectors:
        linkage = new.get(selector.name)
        if linkage is not None:
            feed = _with_selector(feed, replace(selector, linkage=linkage))
    return board([lane.grid], kinds=len(machine.items), feed=feed, gates=gates)


def _with_selector(feed: Feed, selector: Selector) -> Feed:
    if not isinstance(feed, Branch):
        return feed
    own = selector if feed.selector.name == selector.name else feed.selector
    return Branch(own, _with_selector(feed.rest, selector), _with_selector(feed.thrown, selector))


def has_routes(machine: Machine) -> bool:
    """Whether a kind comes by several routes; then a repair may have a bound only."""
    names = [node.name for node in walk_feed(machine.lanes[0].feed) if isinstance(node, Item)]
    return len(set(names)) < len(names)


def random_glyphs(random: Random, machine: Machine, count: int) -> list[Glyph]:
    cells = machine.lanes[0].grid.cells
    kinds = [item.name for item in machine.lanes[0].items]
    return [
        Glyph(f"g{n}", "random", GRID_NAME, tuple(random.choices(kinds, k=len(cells))))
        for n in range(count)
    ]


@pytest.mark.quick(6)
@pytest.mark.parametrize("seed", range(120))
def test_no_smaller_repair_is_found_by_brute_force(seed: int) -> None:
    random = Random(seed)
    machine = tied_machine(random, 2, 3)
    glyphs = any_glyphs(random, machine)
    repair = smallest_repair(machine, GRID_NAME, glyphs)
    links = linked_anew(machine, repair.links)
    assert shows_all(machine, links, glyphs)
    assert actuators_in(links) - actuators_in(links_of(machine)) == repair.added
    fewest = repairs.fewest_added(machine, glyphs, min(2, repair.added))
    if repair.proven:
        assert fewest == (repair.added if repair.added <= 2 else None)
    else:
        assert has_routes(machine)
        assert repair.lower_bound <= (3 if fewest is None else fewest)


@pytest.mark.quick(6)
@pytest.mark.parametrize("seed", range(150))
def test_the_repair_is_that_of_a_model(seed: int) -> None:
    random = Random(1_000 + seed)
    routes = random.choice((0, 0, 0, 5))
    machine = tied_machine(random, 3, 4, routes)
    glyphs = any_glyphs(random, machine, 4)
    repair = smallest_repair(machine, GRID_NAME, glyphs)
    fewest = repair_cpsat.fewest_added(machine, glyphs)
    assert repair.proven or has_routes(machine)
    assert repair.lower_bound <= fewest <= repair.added
    assert repair.added == fewest or not repair.proven
    assert shows_all(machine, linked_anew(machine, repair.links), glyphs)


@pytest.mark.parametrize("seed", range(20))
def test_a_search_cut_short_has_a_bound_that_holds(seed: int) -> None:
    random = Random(2_000 + seed)
    machine = tied_machine(random, 3, 4)
    glyphs = any_glyphs(random, machine, 4)
    repair = smallest_repair(machine, GRID_NAME, glyphs, visits=1)
    assert repair.lower_bound <= repair_cpsat.fewest_added(machine, glyphs) <= repair.added
    assert shows_all(machine, linked_anew(machine, repair.links), glyphs)


@pytest.mark.parametrize("seed", range(40))
def test_what_is_pasted_makes_the_font_reachable(seed: int) -> None:
    random = Random(3_000 + seed)
    machine = tied_machine(random, 4, 5, routes=3)
    glyphs = random_glyphs(random, machine, 6)
    repair = smallest_repair(machine, GRID_NAME, glyphs)
    better = rebuilt(machine, repair.links)
    assert len(better.actuators) == len(machine.actuators) + repair.added
    assert not any(is_lost(better, drawn) for drawn in glyphs)
    for link in repair.links:
        assert link.linkage is not None
        drawn = letters(*link.rows)
        assert set(drawn.groups(link.grid.cells).values()) == set(link.groups)


@pytest.mark.quick(6)
@pytest.mark.parametrize("seed", range(120))
def test_no_fewer_cells_can_be_moved(seed: int) -> None:
    random = Random(4_000 + seed)
    machine = tied_machine(random, 2, 3)
    glyphs = any_glyphs(random, machine)
    moving = fewest_moves(machine, GRID_NAME, glyphs, trials=1_500)
    fewest = repairs.fewest_moved(machine, glyphs, 2)
    if moving.impossible or moving.lower_bound > 2:
        assert fewest is None
    elif moving.proven:
        assert fewest == len(moving.moves)
    else:
        assert has_routes(machine)
        assert fewest is None or moving.lower_bound <= fewest
    if moving.moves:
        links = linked_anew(machine, moving.links)
        assert shows_all(machine, links, glyphs)
        assert _moved(machine, links) == _moves(moving)


def _moved(machine: Machine, links: Links) -> int:
    """The fewest cells that were moved to come to these links, whatever the groups are called."""
    count = 0
    for old, new in zip(links_of(machine), links, strict=True):
        names, others = sorted(set(old)), sorted(set(new))
        count += min(
            sum(dict(zip(others, some, strict=True))[b] != a for a, b in zip(old, new, strict=True))
            for some in itertools.permutations(names, len(others))
        )
    return count


def _moves(moving: Regrouping) -> int:
    for move in moving.moves:
        assert move.cell in move.old.cell_set
        assert move.new.part is move.old.part
        assert move.new != move.old
    assert len({(move.old.index, move.cell) for move in moving.moves}) == len(moving.moves)
    return len(moving.moves)


@pytest.mark.parametrize("seed", range(100))
def test_the_causes_are_what_tears_the_cells_of_a_gate(seed: int) -> None:
    random = Random(5_000 + seed)
    machine = tied_machine(random, 3, 4)
    glyphs = [
        replace(drawn, name=str(n)) for n, drawn in enumerate(random_glyphs(random, machine, 5))
    ]
    lost = tuple(drawn for drawn in glyphs if _gates_in_dispute(machine, drawn))
    reach = reach_of(machine, GRID_NAME, glyphs)
    assert (reach.beyond if reach else ()) == lost
    if reach is None:
        return
    assert {g for cause in reach.causes for g in cause.glyphs} == set(reach.beyond)
    for cause in reach.causes:
        assert set(cause.glyphs) == {g for each in cause.conflicts for g in each.glyphs}
        for conflict in cause.conflicts:
            for drawn in conflict.glyphs:
                assert conflict.metering in _gates_in_dispute(machine, drawn)
        proof = cause.proof
        assert proof.conflict in cause.conflicts
        assert proof.glyph in proof.conflict.glyphs
        _check_proof(machine, proof.glyph, proof.cells)


def _gates_in_dispute(machine: Machine, drawn: Glyph) -> set[Actuator]:
    """The metering actuators whose cells can't all have their kinds, by brute force."""
    grid = machine.lanes[0].grid
    return {
        actuator
        for actuator in machine.actuators_of(machine.lanes[0].metering, grid)
        for cells in ([grid.index_of[cell] for cell in actuator.cells],)
        if repairs.wrong_in(machine, links_of(machine), drawn, cells)
    }


def _check_proof(machine: Machine, drawn: Glyph, cells: Sequence[Cell]) -> None:
    """The cells contradict each other, and no fewer of them do."""
    index_of = machine.lanes[0].grid.index_of
    numbers = [index_of[cell] for cell in cells]
    assert repairs.wrong_in(machine, links_of(machine), drawn, numbers)
    for fewer in itertools.combinations(numbers, len(numbers) - 1):
        assert not repairs.wrong_in(machine, links_of(machine), drawn, fewer)


def test_causes_are_grouped_by_their_linkages() -> None:
    grid = grid_of(2, 3)
    machine = board([grid], selectors=(ROW,), gates={"drop": GRID})
    glyphs = [
        glyph(grid, "011", "111", name="a"),
        glyph(grid, "000", "010", name="b"),
        glyph(grid, "010", "010", name="c"),
        glyph(grid, "000", "111", name="d"),
    ]
    reach = why_lost(machine, glyphs)
    (cause,) = reach.causes
    assert str(cause) == "drop (whole grid) and pick1 (per row)"
    assert [str(each) for each in cause.conflicts] == ["drop and pick1.r1", "drop and pick1.r2"]
    assert [[g.name for g in conflict.glyphs] for conflict in cause.conflicts] == [
        ["a", "c"],
        ["b", "c"],
    ]
    assert [g.name for g in reach.beyond] == ["a", "b", "c"]
    assert str(cause.proof) == (
        "glyph 'a' wants slate in row 1 column 1 and chalk in row 1 column 2, which drop loads "
        "together and which need opposite positions of pick1.r1"
    )
    assert "3 glyphs ('a', 'b', 'c') are out of reach" in cause.finding().message


def test_a_kind_that_the_lane_lacks_is_told_apart() -> None:
    grid = grid_of(2, 1)
    glyphs = [glyph(grid, "0", "2", name="a"), glyph(grid, "0", "1", name="b")]
    reach = why_lost(board([grid]), glyphs)
    assert not reach.causes
    (lack,) = reach.lacking
    assert (lack.kind, lack.glyphs) == ("amber", (glyphs[0],))
    assert smallest_repair(board([grid]), GRID_NAME, glyphs).added == 0


def test_a_whole_grid_is_split_in_its_columns() -> None:
    grid = grid_of(6, 4)
    machine = board([grid], selectors=(ROW,), gates={"drop": GRID})
    repair = smallest_repair(machine, GRID_NAME, random_glyphs(Random(1), machine, 30))
    assert (repair.added, repair.lower_bound) == (3, 3)
    (link,) = repair.links
    assert isinstance(link.part, Gate)
    assert link.linkage is not None
    assert link.linkage.kind is LinkageKind.COLUMN


def test_columns_that_are_always_alike_keep_one_letter() -> None:
    grid = grid_of(3, 4)
    machine = board([grid], selectors=(ROW,), gates={"drop": GRID})
    glyphs = [glyph(grid, "0110", "1001", "0110"), glyph(grid, "1001", "1001", "0000")]
    repair = smallest_repair(machine, GRID_NAME, glyphs)
    assert repair.added == 1
    (link,) = repair.links
    assert link.setting.split("\n") == ["map {", *["    |abba|"] * 3, "}"]


def test_gate_and_selector_are_split_together_where_that_is_less() -> None:
    grid = grid_of(4, 4)
    machine = board([grid], selectors=(GRID,), gates={"drop": GRID})
    glyphs = random_glyphs(Random(2), machine, 30)
    repair = smallest_repair(machine, GRID_NAME, glyphs)
    assert repair.added == 6
    assert [len(split.parts) for split in repair.splits] == [4, 4]


def test_more_groups_than_letters_have_no_map() -> None:
    grid = grid_of(8, 8)
    groups = tuple((cell,) for cell in grid.cells)
    machine = board([grid], gates={"drop": CELL})
    by_cell = NewLinkage(machine.lanes[0].metering, grid, groups)
    assert by_cell.rows == ()
    assert by_cell.setting == "per cell"
    pairs = (groups[0] + groups[9], *groups[1:9], *groups[10:])
    assert len(pairs) == 63
    assert NewLinkage(machine.lanes[0].metering, grid, pairs).setting == ""


def test_nothing_is_repaired_where_all_is_within_reach() -> None:
    grid = grid_of(3, 3)
    machine = board([grid], selectors=(ROW,), gates={"drop": COLUMN})
    glyphs = random_glyphs(Random(3), machine, 20)
    assert reach_of(machine, GRID_NAME, glyphs) is None
    assert smallest_repair(machine, GRID_NAME, glyphs).splits == ()
    assert fewest_moves(machine, GRID_NAME, glyphs).lower_bound == 0


@pytest.mark.parametrize("seed", range(60))
def test_the_cheapest_cover_are_those_of_brute_force(seed: int) -> None:
    random = Random(seed)
    demands: list[Demand] = []
    for _ in range(random.randint(1, 8)):
        some = sorted(random.sample(range(4), random.randint(1, 3)))
        demands.append(tuple((actuator, random.randint(1, 3)) for actuator in some))
    fewest = min(
        sum(levels)
        for levels in itertools.product(range(4), repeat=4)
        if all(any(levels[a] >= level for a, level in demand) for demand in demands)
    )
    found = cheapest_cover(demands)
    assert found.total == found.lower_bound == fewest
    assert all(any(found.numbers.get(a, 0) >= n for a, n in demand) for demand in demands)
    hasty = cheapest_cover(demands, effort=1)
    assert hasty.lower_bound <= fewest <= hasty.total
