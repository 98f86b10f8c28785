"""Orders of passes sought layer by layer equal brute force and CP-SAT, and are always proven."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from random import Random

import networkx as nx
import pytest
from open_boards import open_board
from reference.brute import Setting, fewest_passes, fewest_pulses, selectors_of
from reference.cp_sat import passes_and_pulses
from solver_cases import frame, load_of, positions_of, random_setting, replayed, setting_of
from strategies import Limits, loadable_glyph, random_machine

from seqc.machine.effort import Work
from seqc.machine.glyphs import Glyph
from seqc.machine.model import Machine
from seqc.solver import loading
from seqc.solver.frames import plan_frame
from seqc.solver.layers.cliques import maximal_cliques
from seqc.solver.layers.search import order_by_layers
from seqc.solver.needs import needs_of
from seqc.solver.passes.order import EndError, Order
from seqc.solver.passes.reduction import Component, whole
from seqc.solver.positions import UNKNOWN, Positions, home
from seqc.solver.trajectories.order import order_by_trajectories

Search = Callable[[Component, int], Order | None]

SMALL = Limits(lively=True)


def small_case(
    random: Random, selectors: int, groups: int, most_passes: int = 8
) -> tuple[Machine, Glyph, int]:
    """A machine, a glyph, and the fewest passes that load it."""
    while True:
        machine = random_machine(random, SMALL)
        lane = machine.lanes[0]
        metered = machine.actuators_of(lane.metering, lane.grid)
        if len(selectors_of(machine)) <= selectors and len(metered) <= groups:
            glyph = loadable_glyph(random, machine)
            passes = fewest_passes(load_of(machine, glyph))
            if passes is not None and passes <= most_passes:
                return machine, glyph, passes


def whole_load(machine: Machine, glyph: Glyph, start: Setting, end: Positions) -> Component:
    """All needs of the glyph in one."""
    needs = needs_of(machine, glyph.grid).needs(glyph.kinds)
    return whole((need.ways for need in needs.values()), positions_of(machine, start), end)


def carried_out(start: Positions, order: Order, end: Positions, passes: int) -> tuple[int, bool]:
    """The pulses of an order, and whether the end is met within so many passes."""
    holds = list(order.holds)
    if len(holds) == passes:
        holds[-1] = holds[-1].then(end)
    else:
        holds.append(end)
    pulses = 0
    for hold in holds:
        pulses += start.missing(hold).bit_count()
        start = start.then(hold)
    return pulses, len(order.holds) <= passes and not start.missing(end)


def by_layers(component: Component, passes: int) -> Order:
    """The search in layers with all the work that it needs."""
    return order_by_layers(component, passes, Work(1_000_000))


def by_trajectories(component: Component, passes: int) -> Order | None:
    """The search actuator by actuator with all the work that it needs."""
    return order_by_trajectories(component, passes, Work(1_000_000))


def hold_to_brute_force(
    random: Random, spare: tuple[int, ...], search: Search, most_passes: int = 8
) -> None:
    """The best order of a small case, with some passes to spare, against every order."""
    more = random.choice(spare)
    machine, glyph, fewest = small_case(random, 7, 8, most_passes - more)
    load = load_of(machine, glyph)
    passes = fewest + more
    start = random_setting(random, machine, random.choice((1.0, 0.5)))
    order = search(whole_load(machine, glyph, start, UNKNOWN), passes)
    assert order
    assert order.pulses == order.lower_bound == fewest_pulses(load, start, passes)
    assert carried_out(positions_of(machine, start), order, UNKNOWN, passes) == (order.pulses, True)


@pytest.mark.quick(5)
@pytest.mark.parametrize("seed", range(60))
def test_layers_find_what_brute_force_finds(seed: int) -> None:
    random = Random(seed)
    hold_to_brute_force(random, (0, 0, 1), by_layers)


@pytest.mark.quick(2)
@pytest.mark.parametrize("seed", range(60))
def test_where_the_effort_ends_a_bound_holds(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    random = Random(30_000 + seed)
    work = Work(random.choice((0, 3, 30)))
    monkeypatch.setattr(loading, "MOST_NEEDS", 0)
    monkeypatch.setattr(loading, "FEW_PASSES", 0)
    machine, glyph, passes = small_case(random, 7, 8)
    load = load_of(machine, glyph)
    start = random_setting(random, machine)
    needs = needs_of(machine, glyph.grid).needs(glyph.kinds)
    found = loading.best_loading(needs, work, positions_of(machine, start))
    pulses = sum(step.pulsed.bit_count() for step in found.passes)
    assert found.passes_bound == len(found.passes) == passes
    fewest = fewest_pulses(load, start, passes)
    assert fewest is not None
    assert found.pulses_bound <= fewest <= pulses


def hold_to_an_end(random: Random, search: Search, most_passes: int = 8) -> None:
    """The best order of a small case that ends like another one, against every order."""
    machine, glyph, passes = small_case(random, 6, 6, most_passes)
    load = load_of(machine, glyph)
    start = random_setting(random, machine)
    (other,) = plan_frame(
        machine, frame(glyph), positions_of(machine, random_setting(random, machine))
    )
    order = search(whole_load(machine, glyph, start, other.end), passes)
    assert order
    there = setting_of(machine, other.end)
    assert order.pulses == order.lower_bound == fewest_pulses(load, start, passes, there)
    found = carried_out(positions_of(machine, start), order, other.end, passes)
    assert found == (order.pulses, True)


@pytest.mark.quick(5)
@pytest.mark.parametrize("seed", range(60))
def test_layers_end_where_they_must(seed: int) -> None:
    hold_to_an_end(Random(5_000 + seed), by_layers)


@pytest.mark.parametrize("search", [by_layers, by_trajectories])
def test_an_end_that_every_need_opposes_can_not_be_met(search: Search) -> None:
    ways = [(Positions(3, 1),), (Positions(3, 2),)]
    component = whole(ways, home(2), Positions(3, 3))
    with pytest.raises(EndError):
        search(component, 2)
    found = search(component, 3)
    assert found
    assert found.pulses == 3 + 1


def hold_to_cp_sat(random: Random, machine: Machine, glyph: Glyph) -> None:
    """A plan from a random setting against CP-SAT."""
    load = load_of(machine, glyph)
    start = random_setting(random, machine)
    (plan,) = plan_frame(machine, frame(glyph), positions_of(machine, start))
    replayed(plan, load)
    assert plan.proven
    assert (len(plan.passes), plan.selector_pulses) == passes_and_pulses(load, start)


# CP-SAT takes seconds on these; boards any larger would take it minutes.
@pytest.mark.quick(1, 4)
@pytest.mark.parametrize("seed", range(12))
def test_open_boards_are_as_cp_sat_finds_them(seed: int) -> None:
    random = Random(seed)
    rows, columns = random.randint(4, 6), random.randint(8, 11)
    machine, glyph = open_board(
        random, rows, columns, random.randint(2, 3), random.uniform(0.2, 0.6)
    )
    hold_to_cp_sat(random, machine, glyph)


LARGE = list(itertools.product((10, 15, 20), (12, 15), (2, 4), (0.1, 0.3, 0.5)))


@pytest.mark.quick(2, 14)
@pytest.mark.parametrize(("rows", "columns", "kinds", "absent"), [*LARGE, (20, 20, 2, 0.6)])
def test_large_open_boards_are_proven(rows: int, columns: int, kinds: int, absent: float) -> None:
    random = Random(rows + columns + kinds)
    machine, glyph = open_board(random, rows, columns, kinds, absent)
    (plan,) = plan_frame(machine, frame(glyph), home(len(machine.actuators)))
    replayed(plan, load_of(machine, glyph))
    assert len(plan.passes) <= 16
    assert plan.proven


@pytest.mark.parametrize("seed", range(20))
def test_cliques_are_those_of_networkx(seed: int) -> None:
    random = Random(seed)
    graph = nx.gnp_random_graph(random.randint(1, 14), random.random(), seed=seed)
    masks = [sum(1 << other for other in graph[node]) for node in graph]
    expected = {sum(1 << node for node in clique) for clique in nx.find_cliques(graph)}
    found = maximal_cliques(masks)
    assert len(found) == len(expected)
    assert set(found) == expected
