"""Bounds and orders where the best isn't proven: none is better than brute force finds."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from random import Random

import pytest
from reference.brute import fewest_passes, fewest_pulses
from solver_cases import frame, load_of, positions_of, random_setting, replayed
from strategies import loadable_glyph
from test_solver_brute import MOST_PASSES, small_machine

from seqc.machine.effort import Work
from seqc.solver.estimates.beam import guided_order
from seqc.solver.estimates.estimate import estimated_order
from seqc.solver.estimates.guided import GuidedPasses, passes_and_bound
from seqc.solver.estimates.history_bound import HistoryBound
from seqc.solver.estimates.shared_bound import SharedBound
from seqc.solver.frames import plan_frame
from seqc.solver.passes.forced_sharing import forced_sharing, with_forced_sharing
from seqc.solver.passes.order import EndError, Order
from seqc.solver.passes.reduction import Component
from seqc.solver.positions import Positions

SEEDS = range(40)
ENOUGH = 1_000
NODES = 1_000


def some_positions(random: Random, actuators: int, known: float) -> Positions:
    mask = sum((random.random() < known) << actuator for actuator in range(actuators))
    return Positions(mask, mask & random.getrandbits(actuators))


def pulses_of(start: Positions, way: Sequence[Positions]) -> int:
    """Actuator by actuator: a pulse wherever a position is wanted that isn't the last one known."""
    pulses = 0
    for actuator in range(64):
        at = start.of(actuator)
        for wanted in (stop.of(actuator) for stop in way):
            pulses += wanted is not None and wanted != at
            at = wanted or at
    return pulses


@pytest.mark.quick(6)
@pytest.mark.parametrize("seed", SEEDS)
def test_no_order_is_below_the_bound(seed: int) -> None:
    random = Random(seed)
    actuators, known = random.randint(3, 14), random.choice((0.3, 0.6, 0.9, 1))
    stops = [some_positions(random, actuators, known) for _ in range(random.randint(1, 6))]
    start = some_positions(random, actuators, random.choice((0.5, 1)))
    end = some_positions(random, actuators, random.choice((0, 0.5)))
    orders = list(itertools.permutations(range(len(stops))))
    best = min(pulses_of(start, [*(stops[i] for i in order), end]) for order in orders)
    bound = HistoryBound(stops, start, end, Work(NODES))
    loose = bound.lower_bound
    bound.tighten(ENOUGH, Work(NODES))
    assert loose <= bound.lower_bound <= best
    for only in range(len(stops)):
        last = [stop == only for stop in range(len(stops))]
        led = guided_order(bound.penalties, last, random.choice((3, 20, 1_000)))
        assert sorted(led.order) == list(range(len(stops)))
        assert led.order[-1] == only
        assert led.lower_bound <= min(
            pulses_of(start, [*(stops[i] for i in order), end])
            for order in orders
            if order[-1] == only
        )
    guided = GuidedPasses([[stop] for stop in stops], start, end, tight=False, work=Work(40_000))
    least = passes_and_bound(guided, [(stop,) for stop in stops])
    assert least <= best == guided.pulses
    assert guided.pulses == pulses_of(start, [*guided.holds, end])


def fewest(start: Positions, stops: Sequence[Positions], end: Positions) -> int:
    """The fewest pulses of any order: set by set of stops, with all positions that it leads to."""
    reached: dict[tuple[int, Positions], int] = {(0, start): 0}
    for _ in stops:
        longer: dict[tuple[int, Positions], int] = {}
        for (done, at), pulses in reached.items():
            for number, stop in enumerate(stops):
                if not done >> number & 1:
                    key = done | 1 << number, at.then(stop)
                    more = pulses + pulses_of(at, [stop])
                    longer[key] = min(more, longer.get(key, more))
        reached = longer
    return min(pulses + pulses_of(at, [end]) for (_, at), pulses in reached.items())


@pytest.mark.quick(3)
@pytest.mark.parametrize("seed", range(8))
def test_orders_of_middle_size_are_not_below_the_bound(seed: int) -> None:
    random = Random(100 + seed)
    known = random.choice((0.3, 0.5, 0.8))
    stops = [some_positions(random, 9, known) for _ in range(8)]
    start, end = some_positions(random, 9, 0.8), some_positions(random, 9, 0.3)
    best = fewest(start, stops, end)
    bound = HistoryBound(stops, start, end, Work(NODES))
    bound.tighten(ENOUGH, Work(NODES))
    assert bound.lower_bound <= best
    for width in (20, 300, 20_000):
        led = guided_order(bound.penalties, [True] * len(stops), width)
        assert led.lower_bound <= best <= pulses_of(start, [*(stops[i] for i in led.order), end])
    assert best == led.lower_bound


@pytest.mark.thorough
def test_long_histories_make_the_bound_tight() -> None:
    """The bounds of small cases reach what brute force finds in nearly all of them."""
    random = Random(1)
    reached = 0
    for _ in range(20):
        stops = [some_positions(random, 12, 0.5) for _ in range(6)]
        start = some_positions(random, 12, 1)
        best = min(pulses_of(start, way) for way in itertools.permutations(stops))
        bound = HistoryBound(stops, start, Positions(), Work(NODES))
        bound.tighten(ENOUGH, Work(NODES))
        reached += bound.lower_bound == best
    assert reached >= 15


@pytest.mark.quick(5)
@pytest.mark.parametrize("seed", SEEDS)
def test_estimated_plans_are_no_better_than_brute_force(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    def estimated(component: Component, count: int, _: Work) -> Order:
        component = with_forced_sharing(component, count)
        return estimated_order(component, count, 0, Work(40_000))

    monkeypatch.setattr("seqc.solver.loading.best_order", estimated)
    random = Random(seed)
    machine = small_machine(random)
    glyph = loadable_glyph(random, machine)
    load = load_of(machine, glyph)
    passes = fewest_passes(load)
    if passes is None or passes > MOST_PASSES:
        return
    start = random_setting(random, machine, random.choice((0.5, 1)))
    (plan,) = plan_frame(machine, frame(glyph), positions_of(machine, start))
    gates = plan.pulses - plan.selector_pulses
    assert len(plan.passes) == passes
    best = fewest_pulses(load, start, passes)
    assert best is not None
    assert plan.pulses_bound - gates <= best <= plan.selector_pulses
    replayed(plan, load)


def areas(random: Random, stops: int, actuators: int) -> list[Positions]:
    """Stops of a drawing: each actuator is open, at rest or thrown over whole stretches of them."""
    known, thrown = [0] * stops, [0] * stops
    for actuator in range(actuators):
        cuts = sorted(random.choices(range(stops + 1), k=3))
        first = random.getrandbits(1)
        for stop in range(cuts[0] if random.random() < 0.7 else 0, cuts[2]):
            known[stop] |= 1 << actuator
            thrown[stop] |= (first ^ (stop >= cuts[1])) << actuator
    return [Positions(*word) for word in zip(known, thrown, strict=True)]


@pytest.mark.quick(3)
@pytest.mark.parametrize("seed", range(12))
def test_bounds_of_drawn_areas_reach_the_best_order_and_no_more(seed: int) -> None:
    random = Random(200 + seed)
    stops = areas(random, 8, 11)
    start = some_positions(random, 11, random.choice((0.5, 1)))
    end = some_positions(random, 11, random.choice((0, 0.3)))
    best = fewest(start, stops, end)
    bound = HistoryBound(stops, start, end, Work(NODES))
    bound.tighten(ENOUGH, Work(NODES))
    assert best - 1 <= bound.lower_bound <= best
    led = guided_order(bound.penalties, [True] * len(stops), 2_000)
    assert led.lower_bound == best


def fewest_shared(
    start: Positions, needs: Sequence[Positions], count: int, end: Positions, tight: bool = False
) -> int | None:
    """The fewest pulses of so many passes, by every choice of a pass for each need.

    Where the end is tight it is set in the last pass, else after it.
    """
    best = None
    for choice in itertools.product(range(count), repeat=len(needs)):
        passes: list[list[Positions]] = [[] for _ in range(count)]
        for number, need in zip(choice, needs, strict=True):
            passes[number].append(need)
        passes[-1] += [end] if tight else []
        if all(a.meet(b) for held in passes for a, b in itertools.combinations(held, 2)):
            pulses = pulses_of(start, [*itertools.chain(*passes), end])
            best = pulses if best is None else min(best, pulses)
    return best


@pytest.mark.quick(6)
@pytest.mark.parametrize("seed", range(60))
def test_needs_that_share_passes_are_not_below_the_bound(seed: int) -> None:
    random = Random(seed)
    actuators = random.randint(3, 6)
    known = random.choice((0.5, 0.7))
    drawn = [some_positions(random, actuators, known) for _ in range(random.randint(3, 6))]
    needs = [need for need in dict.fromkeys(drawn) if need.known]
    start = some_positions(random, actuators, random.choice((0.5, 1)))
    end = some_positions(random, actuators, random.choice((0, 0.4)))
    bests = (fewest_shared(start, needs, count, end) for count in itertools.count(1))
    count, best = next((count, best) for count, best in enumerate(bests, 1) if best is not None)
    shared = SharedBound(start, end, ENOUGH, Work(10_000))
    assert shared.lower_bound(needs, None) <= best
    assert shared.lower_bound(needs, count) <= best
    more = fewest_shared(start, needs, count + 1, end)
    assert more is not None
    assert shared.lower_bound(needs, count + 1) <= more
    found = forced_sharing([(need,) for need in needs], count)
    together = [ways[0] for ways in found.needs]
    assert fewest_shared(start, together, count, end) == best
    if found.loose:
        splits = [[ways[0] for ways in split.needs] for split in found.split()]
        pulses = [fewest_shared(start, split, count, end) for split in splits]
        assert min(each for each in pulses if each is not None) == best
    component = Component(tuple((need,) for need in needs), start, end)
    closed = fewest_shared(start, needs, count, end, tight=True)
    try:
        component = with_forced_sharing(component, count)
        order = estimated_order(component, count, 0, Work(40_000))
    except EndError:
        return
    assert closed is not None
    assert order.lower_bound <= closed <= order.pulses
    assert all(any(not hold.missing(need) for hold in order.holds) for need in needs)


def test_needs_have_partners_only_where_there_is_no_pass_to_spare() -> None:
    """Five needs in a ring, each opposed to the next one: three passes, but no three opposed."""
    ring = [Positions(1 << i | 1 << (i + 1) % 5, 1 << i) for i in range(5)]
    spare = forced_sharing([(need,) for need in ring], 3)
    assert spare.room == 1
    assert sorted(ways[0].known for ways in spare.needs) == sorted(need.known for need in ring)
    found = forced_sharing([(need,) for need in ring[:3]], 2)
    assert sorted(ways[0].known for ways in found.passes) == [0b00110, 0b01111]
    assert not found.loose
    assert not found.room
