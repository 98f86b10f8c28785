"""Where a need has more ways than are kept, the plan still loads and its bounds stay true."""

from __future__ import annotations

from random import Random

import pytest
from reference.brute import fewest_passes, fewest_pulses
from solver_cases import frame, load_of, positions_of, random_setting, replayed
from strategies import loadable_glyph
from test_solver_brute import MOST_PASSES, small_machine

from seqc.solver import needs
from seqc.solver.frames import changed_needs, plan_frame
from seqc.solver.needs import needs_of

SEEDS = range(400)
KEPT = 2


@pytest.mark.thorough
def test_bounds_are_true_where_ways_are_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(needs, "MOST_WAYS", KEPT)
    cut = worse = exact = 0
    for seed in SEEDS:
        random = Random(seed)
        machine = small_machine(random)
        glyph = loadable_glyph(random, machine)
        lane = needs_of(machine, glyph.grid)
        every = changed_needs(lane, glyph, lane.ties.every)
        if all(need.whole for need in every.values()):
            continue
        cut += 1
        load = load_of(machine, glyph)
        start = random_setting(random, machine)
        (plan,) = plan_frame(machine, frame(glyph), positions_of(machine, start))
        replayed(plan, load)
        passes = fewest_passes(load)
        assert passes is not None
        assert plan.least_passes <= passes <= len(plan.passes)
        if len(plan.passes) <= MOST_PASSES:
            pulses = fewest_pulses(load, start, len(plan.passes))
            assert pulses is not None
            gates = plan.pulses - plan.selector_pulses
            assert plan.least_pulses - gates <= pulses <= plan.selector_pulses
            worse += pulses < plan.selector_pulses
            exact += plan.least_pulses - gates == pulses
        assert not plan.proven or passes == len(plan.passes)
    assert cut > 20
    assert worse
    # A bound by what must move between any two needs is exact 14 times.
    assert exact >= 17
