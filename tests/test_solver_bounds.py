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

from seqc.solver.beam import guided_order
from seqc.solver.estimate import estimated_order
from seqc.solver.frames import plan_frame
from seqc.solver.guided import GuidedPasses, passes_and_bound
from seqc.solver.order import Order
from seqc.solver.positions import Positions
from seqc.solver.reduction import Component
from seqc.solver.trail_bound import TrailBound

SEEDS = range(40)
ENOUGH = 1_000
EFFORT = 3_000_000


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


@pytest.mark.parametrize("seed", SEEDS)
def test_no_order_is_below_the_bound(seed: int) -> None:
    random = Random(seed)
    actuators, known = random.randint(3, 14), random.choice((0.3, 0.6, 0.9, 1))
    stops = [some_positions(random, actuators, known) for _ in range(random.randint(1, 6))]
    start = some_positions(random, actuators, random.choice((0.5, 1)))
    end = some_positions(random, actuators, random.choice((0, 0.5)))
    orders = list(itertools.permutations(range(len(stops))))
    best = min(pulses_of(start, [*(stops[i] for i in order), end]) for order in orders)
    bound = TrailBound(stops, start, end)
    loose = bound.least
    bound.tighten(ENOUGH, EFFORT)
    assert loose <= bound.least <= best
    for only in range(len(stops)):
        last = [stop == only for stop in range(len(stops))]
        led = guided_order(bound.tolls, last, random.choice((3, 20, 1_000)))
        assert sorted(led.order) == list(range(len(stops)))
        assert led.order[-1] == only
        assert led.least <= min(
            pulses_of(start, [*(stops[i] for i in order), end])
            for order in orders
            if order[-1] == only
        )
    guided = GuidedPasses([[stop] for stop in stops], start, end, tight=False)
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


@pytest.mark.parametrize("seed", range(8))
def test_orders_of_middle_size_are_not_below_the_bound(seed: int) -> None:
    random = Random(100 + seed)
    known = random.choice((0.3, 0.5, 0.8))
    stops = [some_positions(random, 9, known) for _ in range(8)]
    start, end = some_positions(random, 9, 0.8), some_positions(random, 9, 0.3)
    best = fewest(start, stops, end)
    bound = TrailBound(stops, start, end)
    bound.tighten(ENOUGH, EFFORT)
    assert bound.least <= best
    for width in (20, 300, 20_000):
        led = guided_order(bound.tolls, [True] * len(stops), width)
        assert led.least <= best <= pulses_of(start, [*(stops[i] for i in led.order), end])
    assert best == led.least


def test_long_trails_make_the_bound_tight() -> None:
    """The bounds of small cases reach what brute force finds in nearly all of them."""
    random = Random(1)
    reached = 0
    for _ in range(20):
        stops = [some_positions(random, 12, 0.5) for _ in range(6)]
        start = some_positions(random, 12, 1)
        best = min(pulses_of(start, way) for way in itertools.permutations(stops))
        bound = TrailBound(stops, start, Positions())
        bound.tighten(ENOUGH, EFFORT)
        reached += bound.least == best
    assert reached >= 15


@pytest.mark.parametrize("seed", SEEDS)
def test_estimated_plans_are_no_better_than_brute_force(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    def estimated(component: Component, count: int) -> Order:
        return estimated_order(component, count, 0)

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
    assert plan.least_pulses - gates <= best <= plan.selector_pulses
    replayed(plan, load)
