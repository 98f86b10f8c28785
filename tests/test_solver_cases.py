"""Bounds case by case: never above the best order, and better than the bound that was split."""

from __future__ import annotations

from random import Random

import pytest
from test_solver_bounds import fewest, some_positions

from seqc.solver.estimates.trail_bound import TrailBound
from seqc.solver.positions import Positions

EFFORT = 30_000_000


@pytest.mark.parametrize("seed", range(40))
def test_no_order_is_below_the_bound_by_cases(seed: int) -> None:
    random = Random(seed)
    actuators, known = random.randint(3, 12), random.choice((0.4, 0.7, 1))
    stops = [some_positions(random, actuators, known) for _ in range(random.randint(2, 7))]
    start = some_positions(random, actuators, random.choice((0.5, 1)))
    end = some_positions(random, actuators, random.choice((0, 0.5, 1)))
    best = fewest(start, stops, end)
    for enough in (best - 1, best, best + 1, best + 5):
        bound = TrailBound(stops, start, end)
        spent = bound.ask(enough, EFFORT)
        assert bound.least <= best
        assert 0 <= spent <= 2 * EFFORT


def slopes(random: Random, stops: int, actuators: int) -> list[Positions]:
    """Full stops in any order: each actuator is thrown over one or two stretches of a drawing."""
    drawn = [Positions() for _ in range(stops)]
    for bit in (1 << actuator for actuator in range(actuators)):
        cuts = sorted(random.sample(range(stops + 1), random.choice((2, 4))))
        for number, stop in enumerate(drawn):
            inside = sum(cut <= number for cut in cuts) % 2
            drawn[number] = stop.then(Positions(bit, bit * inside))
    found = list(dict.fromkeys(drawn))
    random.shuffle(found)
    return found


def test_cases_part_what_the_bound_mixes() -> None:
    """Of drawn slopes some that the first bound leaves open are proven by cases."""
    proven = 0
    for seed in range(5, 9):
        stops = slopes(Random(seed), 11, 14)
        start = Positions((1 << 14) - 1, 0)
        best = fewest(start, stops, Positions())
        bound = TrailBound(stops, start, Positions())
        first = bound.least
        bound.ask(best + 1, EFFORT)
        assert bound.least <= best
        proven += first < bound.least == best
    assert proven
